-- Starts the language server for circuit files.
if vim.lsp.enable then
  vim.lsp.enable('halfsplit')
  return
end

-- Neovim 0.8 to 0.10 do not read lsp/halfsplit.lua by themselves.
local here = vim.fn.fnamemodify(debug.getinfo(1, 'S').source:sub(2), ':p:h:h')
local config = dofile(here .. '/lsp/halfsplit.lua')
vim.api.nvim_create_autocmd('FileType', {
  pattern = config.filetypes,
  callback = function(event)
    local folder = vim.fs.dirname(vim.api.nvim_buf_get_name(event.buf))
    local mark = vim.fs.find(config.root_markers, { upward = true, path = folder })[1]
    vim.lsp.start({
      name = 'halfsplit',
      cmd = config.cmd,
      root_dir = mark and vim.fs.dirname(mark) or folder,
    })
  end,
})
