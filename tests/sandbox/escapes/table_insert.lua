-- ends with: took more than
table.insert(setmetatable({}, { __len = function() return 1 << 60 end }), 1, 0)
