-- ends with: took more than
local function f(n)
  if n == 0 then while true do end end
  pcall(f, n - 1)
  pcall(f, n - 1)
  pcall(f, n - 1)
end
f(150)
