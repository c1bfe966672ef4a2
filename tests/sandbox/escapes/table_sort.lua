-- ends with: 
local t = {}
for i = 1, 1 << 17 do t[i] = i % 7 end
table.sort(t, function() return true end)
