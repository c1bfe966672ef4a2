-- ends with: the script
local t = {}
for i = 1, math.huge do t[i + 0.5] = true end
