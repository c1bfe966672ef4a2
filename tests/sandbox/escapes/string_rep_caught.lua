-- ends with: took more than
while true do pcall(string.rep, "x", 1 << 30) end
