-- Opens a circuit as a user would and looks at what the editor shows.
-- Ends with 0 when everything is there, with 1 and a message when something is not.

local repo, work = vim.env.HALFSPLIT, vim.env.WORK
local HUNG = 60000 -- milliseconds; reached only when something hangs

local function say(text)
  io.stdout:write(text .. '\n')
end

local function fail(text)
  io.stderr:write('neovim: ' .. text .. '\n')
  os.exit(1)
end

local function expect(what, value)
  if not value then
    fail(what)
  end
  say('  ' .. what)
  return value
end

local function wait_for(what, ready)
  expect(what, vim.wait(HUNG, ready, 20))
end

-- Where `text` stands in the buffer: line from 1, column in bytes from 0.
local function find(text)
  for number, line in ipairs(vim.api.nvim_buf_get_lines(0, 0, -1, false)) do
    local column = line:find(text, 1, true)
    if column then
      return { number, column - 1 }
    end
  end
  fail('the example has no "' .. text .. '"')
end

local function ask(method, params)
  local answers = vim.lsp.buf_request_sync(0, method, params, HUNG)
  local _, answer = next(answers or {})
  if not answer or answer.error then
    fail(method .. ': ' .. vim.inspect(answer))
  end
  return answer.result
end

local function at(text, into)
  local place = find(text)
  vim.api.nvim_win_set_cursor(0, { place[1], place[2] + (into or 0) })
  return vim.lsp.util.make_position_params(0, 'utf-16')
end

vim.opt.runtimepath:append(repo .. '/editors/neovim')
vim.cmd('filetype plugin on')
vim.cmd('runtime! plugin/halfsplit.lua')
vim.cmd.edit(vim.fn.fnameescape(work .. '/tern/reference-a.circuit'))
local buffer = vim.api.nvim_get_current_buf()

expect('the file is a circuit', vim.bo.filetype == 'halfsplit')
wait_for('the server is attached', function()
  return #vim.lsp.get_clients({ bufnr = buffer }) == 1
end)
local client = vim.lsp.get_clients({ bufnr = buffer })[1]
expect('the library root is found', client.root_dir == work)

-- Diagnostics: a slip shows, and goes with the slip.
local last = vim.api.nvim_buf_line_count(buffer)
vim.api.nvim_buf_set_lines(buffer, last, last, false, { 'wire W999  SP10  to X999:1  GY/RD  0.5 mm2  1 m  # 20 °C 🔧' })
wait_for('a slip shows as a diagnostic on its line', function()
  local shown = vim.diagnostic.get(buffer, { lnum = last })
  return #shown > 0 and shown[1].source == 'halfsplit' and shown[1].message:find('X999', 1, true)
end)
vim.api.nvim_buf_set_lines(buffer, last, last + 1, false, {})
wait_for('a mended slip shows no more', function()
  return #vim.diagnostic.get(buffer) == 0
end)

-- Hover: what shares the net, colours, expected volts, feed.
local hover = ask('textDocument/hover', at('X34:2'))
local text = hover and hover.contents.value or ''
for _, word in ipairs({ 'X34:2', 'GY/RD', 'A10.X2:14', 'X35:1', '4.99 V', 'Feed' }) do
  expect('the hover of X34:2 tells ' .. word, text:find(word, 1, true))
end
vim.lsp.buf.hover()
wait_for('the hover opens a window', function()
  return #vim.api.nvim_list_wins() > 1
end)
vim.cmd('only')

-- Definition: from a wire's end to the splice.
at('to SP10', 3)
vim.lsp.buf.definition()
wait_for('the definition of SP10 is its line', function()
  return vim.api.nvim_get_current_line():find('^splice SP10') ~= nil
end)

local outline = ask('textDocument/documentSymbol', { textDocument = vim.lsp.util.make_text_document_params() })
local named = vim.iter(outline):find(function(symbol)
  return symbol.name == 'B4'
end)
expect('the outline nests X34 under B4', named and vim.iter(named.children):any(function(child)
  return child.name == 'X34'
end))

-- The code action: writes the plan beside the circuit.
at('X34:2')
vim.lsp.buf.code_action({
  apply = true,
  filter = function(action)
    return action.title:find('isolation plan for X34:2, which reads near zero', 1, true)
  end,
})
local function written()
  return vim.fn.glob(work .. '/tern/*.md', true, true)[1]
    or vim.iter(vim.api.nvim_list_bufs()):map(vim.api.nvim_buf_get_name):find(function(name)
      return name:match('%.md$')
    end)
end
wait_for('the plan is a new file', written)
local plan = vim.fn.bufadd(written())
wait_for('the plan is written', function()
  local lines = vim.api.nvim_buf_get_lines(plan, 0, -1, false)
  return table.concat(lines, '\n'):find('X35', 1, true)
end)
expect('the plan lies beside the circuit', vim.fs.dirname(vim.uv.fs_realpath(vim.fs.dirname(written()))) == vim.uv.fs_realpath(work))

-- Leaving: the server goes with the editor.
local process = client.id
client:stop()
wait_for('the server ends when told to', function()
  return vim.lsp.get_client_by_id(process) == nil
end)
say('neovim ' .. tostring(vim.version()) .. ': all well')
os.exit(0)
