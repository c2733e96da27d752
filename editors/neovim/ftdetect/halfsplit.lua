vim.filetype.add({ extension = { circuit = 'halfsplit', case = 'halfsplit-case' } })
