-- ends with: took more than
while true do local s = ("x"):rep(1 << 24) end
