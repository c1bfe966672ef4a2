-- The charger known by its markings beside the one known in full: loss and rise of every part, at full load.
--
--   heatledger solve examples/desk_charger/compare.lua

local hl = require "heatledger"
local full, marked = hl.script "charger.lua", hl.script "marked.lua"

local function by_name(result)
  local parts = {}
  for _, part in ipairs(result.parts) do parts[part.stage .. "." .. part.slot] = part end
  return parts
end

local known, estimated = full:solve(), marked:solve()
local parts, ambient = by_name(known), 25

print(("%-32s %16s %24s"):format("", "loss, W", "temperature, degC"))
print(("%-32s %7s %7s %5s %7s %7s %5s"):format("part", "full", "marked", "ratio", "full", "marked", "ratio"))
for _, part in ipairs(estimated.parts) do
  local name = part.stage .. "." .. part.slot
  local other = parts[name]
  print(("%-32s %7.3f %7.3f %5.2f %7.1f %7.1f %5.2f"):format(name, other.loss_w, part.loss_w,
    part.loss_w / other.loss_w, other.temperature_c, part.temperature_c,
    (part.temperature_c - ambient) / (other.temperature_c - ambient)))
end
print(("%-32s %7.3f %7.3f %5.2f\n"):format("all", known.power.loss_w, estimated.power.loss_w,
  estimated.power.loss_w / known.power.loss_w))

return marked
