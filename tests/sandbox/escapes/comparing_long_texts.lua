-- ends with: took more than
local a, b = ("x"):rep(1 << 23) .. "a", ("x"):rep(1 << 23) .. "b"
while a < b do end
