-- ends with: took more than
return table.concat(setmetatable({}, { __index = function() return "" end }), "", 1, 1 << 60)
