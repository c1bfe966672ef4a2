-- ends with: took more than
local c = coroutine.create(function() while true do end end)
while true do coroutine.resume(c) c = coroutine.create(function() while true do end end) end
