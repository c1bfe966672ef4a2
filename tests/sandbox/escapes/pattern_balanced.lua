-- ends with: took more than
local s = ("("):rep(1 << 20)
return s:find "%b()"
