-- ends with: took more than
local t = {}
while true do t[math.random(1 << 10)] = tostring(math.random()) end
