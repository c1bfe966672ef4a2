-- ends with: took more than
while true do
  local c = coroutine.create(function() for i = 1, 300 do end end)
  coroutine.resume(c)
end
