" The language server, for ALE.
function! ale_linters#halfsplit#halfsplit#Root(buffer) abort
  let l:mark = ale#path#FindNearestFile(a:buffer, 'halfsplit.toml')
  return empty(l:mark) ? expand('#' . a:buffer . ':p:h') : fnamemodify(l:mark, ':h')
endfunction

call ale#linter#Define('halfsplit', {
\   'name': 'halfsplit',
\   'lsp': 'stdio',
\   'executable': 'halfsplit',
\   'command': '%e lsp',
\   'project_root': function('ale_linters#halfsplit#halfsplit#Root'),
\})
