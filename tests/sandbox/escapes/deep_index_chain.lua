-- ends with: 
local t = {}
setmetatable(t, { __index = t })
return t.x
