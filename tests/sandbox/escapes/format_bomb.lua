-- ends with: memory
local s = ("x"):rep(1 << 22)
return string.format(("%s"):rep(200), table.unpack((function()
  local t = {}
  for i = 1, 200 do t[i] = s end
  return t
end)()))
