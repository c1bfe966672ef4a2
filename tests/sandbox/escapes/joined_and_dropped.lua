-- ends with: took more than
local s = ("x"):rep(1 << 22)
while true do local t = s .. s end
