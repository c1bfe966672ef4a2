-- holds
local f, why = load("return " .. ("{"):rep(1000) .. ("}"):rep(1000))
assert(f == nil and #why < 1000)
return true
