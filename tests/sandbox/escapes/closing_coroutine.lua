-- ends with: took more than
while true do
  local c = coroutine.create(function()
    local x <close> = setmetatable({}, { __close = function() while true do end end })
    coroutine.yield()
  end)
  coroutine.resume(c)
  coroutine.close(c)
end
