-- The starter catalogue seen from a script: walked, narrowed, used, and refused.  check_starter_lua.c runs it.
local hl = require "heatledger"

local n, last = 0, ""
for name, item in pairs(hl.catalogue()) do
  assert(name > last and item:name() == name, name)
  n, last = n + 1, name
end
assert(n >= 120, n)

for file, family in pairs { switches = "switch", diodes = "diode", capacitors = "capacitor",
  magnetics = "magnetic", resistors = "resistor" } do
  for name, item in pairs(hl.catalogue(file)) do assert(item:family() == family, name) end
end

local quick = hl.catalogue("switches", function(known)
  return known.model == "gan_transistor" and known.values.rated_voltage >= 600 and known.values.on_resistance < 0.2
end)
local found = 0
for name, item in pairs(quick) do
  local values = item:values()
  assert(values.on_resistance < 0.2 and values.turn_off_law == "snubbed", name)
  assert(values.resistance_factor[1][1] == 298.15 and values.resistance_factor[1][2] == 1.0, name)
  assert(#values.size == 3 and item:description() ~= "", name)
  found = found + 1
end
assert(found >= 5, found)

-- The same for the parts of a file of one's own, and a part left out is not there.
local shunts = hl.matching(hl.catalogue { "resistors" }, function(known)
  return known.model == "resistor" and known.values.resistance < 0.05
end)
local _, message = pcall(function() return shunts.sense_430m end)
assert(message:find("no part is named 'sense_430m'", 1, true), message)
_, message = pcall(hl.catalogue, "switch")
assert(message:find("the starter catalogue has no 'switch'", 1, true), message)

local bench = hl.adapter "catalogue on the bench"
bench:supply { voltage = "12 V" }
bench:stage "wire" { model = "output_switch", fed_by = "source", sense_resistor = shunts.sense_10m }
bench:port "lamp" { fed_by = "wire", voltage = "12 V", current = "2 A" }
return bench
