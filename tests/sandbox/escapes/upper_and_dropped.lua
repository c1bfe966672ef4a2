-- ends with: took more than
local s = ("x"):rep(1 << 23)
while true do s:upper() end
