-- ends with: took more than
local function f() return f() end
f()
