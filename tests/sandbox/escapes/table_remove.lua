-- ends with: took more than
table.remove(setmetatable({}, { __len = function() return 1 << 60 end }), 1)
