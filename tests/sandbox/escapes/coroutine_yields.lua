-- ends with: took more than
local c = coroutine.create(function() while true do coroutine.yield() end end)
while true do coroutine.resume(c) end
