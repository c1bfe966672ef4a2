-- ends with: took more than
local function nest(n)
  local c = coroutine.create(function()
    if n > 0 then nest(n - 1) end
    while true do end
  end)
  coroutine.resume(c)
  coroutine.resume(c)
end
while true do nest(100) end
