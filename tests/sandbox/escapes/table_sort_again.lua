-- ends with: took more than
local t = {}
for i = 1, 1 << 16 do t[i] = i end
while true do table.sort(t) end
