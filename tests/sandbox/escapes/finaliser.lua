-- ends with: __gc is not open to scripts
setmetatable({}, { __gc = function() while true do end end })
