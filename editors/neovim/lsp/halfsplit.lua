return {
  cmd = { 'halfsplit', 'lsp' },
  filetypes = { 'halfsplit' },
  root_markers = { 'halfsplit.toml', '.git' },
}
