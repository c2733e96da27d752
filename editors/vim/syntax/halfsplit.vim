" Colours of circuit files: the word that opens a line, the words between, wire colours, values.
if exists('b:current_syntax')
  finish
endif
syntax match halfsplitStatement /^\s*\zs[a-z][a-z-]*\>/
syntax keyword halfsplitWord to on as at when not and because key holds lacks reads halves cavities
syntax keyword halfsplitUnknown unknown
syntax match halfsplitColour /\<\%(BK\|BN\|RD\|OG\|YE\|GNYE\|GN\|BU\|VT\|GY\|WH\|PK\|TQ\|GD\|SR\)\%(\/\%(BK\|BN\|RD\|OG\|YE\|GN\|BU\|VT\|GY\|WH\|PK\|TQ\|GD\|SR\)\)\?\>/
syntax match halfsplitNumber /\<[0-9]\+\%(\.[0-9]\+\)\?\>/
syntax match halfsplitArrow /->\|\.\./
syntax region halfsplitText start=/"/ end=/"/ oneline
syntax match halfsplitComment /#.*$/
highlight default link halfsplitStatement Statement
highlight default link halfsplitWord Keyword
highlight default link halfsplitUnknown Todo
highlight default link halfsplitColour Constant
highlight default link halfsplitNumber Number
highlight default link halfsplitArrow Operator
highlight default link halfsplitText String
highlight default link halfsplitComment Comment
let b:current_syntax = 'halfsplit'
