-- report.ranked: the parts and limits of a result in order.

local limits = require "heatledger.limits"
local number = require "heatledger.report.number"

local ranked = {}

function ranked.name(part) return part.stage .. "." .. part.slot end

-- "88 % used"; a room hotter than a part may get leaves nothing to take a share of.
function ranked.used(used) return number.used(used) .. (used < math.huge and " used" or " its limit") end

-- Headroom of all parts, of the faces of the case and of stages, what gives way first at the top; limits.judge tells
-- of what each is made.
function ranked.limits(result) return limits.judge(result).entries end

function ranked.hottest_part(result)
  local most
  for _, part in ipairs(result.parts) do
    if not most or part.temperature_c > most.temperature_c then most = part end
  end
  return most
end

return ranked
