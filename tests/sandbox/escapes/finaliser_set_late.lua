-- holds
-- marked for finalising only when the key is there as the metatable is set
local meta = {}
for i = 1, 100 do setmetatable({}, meta) end
meta.__gc = function() while true do end end
for i = 1, 10000 do local t = { {}, {} } end
assert(not pcall(setmetatable, {}, meta))
return true
