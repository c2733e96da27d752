return {
  cmd = { 'halfsplit', 'lsp' },
  filetypes = { 'halfsplit', 'halfsplit-case' },
  root_markers = { 'halfsplit.toml', '.git' },
}
