-- ends with: stack overflow
local t = {}
setmetatable(t, { __index = function(_, k) return t[k .. "x"] end })
return t.x
