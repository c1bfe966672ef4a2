-- headroom: used shares of limits as they are told.

local headroom = {}

-- In whole percent one that is broken never reads 100 %.
function headroom.told(used)
  return used > 1 and math.max(used, 1.01) or used
end

return headroom
