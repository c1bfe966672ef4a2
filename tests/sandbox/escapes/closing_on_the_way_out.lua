-- ends with: took more than
local x <close> = setmetatable({}, { __close = function() while true do end end })
while true do end
