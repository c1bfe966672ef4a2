-- The same choice by hand: one adapter for each, described with its parts alone, and the best three printed.
local hl = require "heatledger"
local part = hl.parts "parts.yaml"
local rows = {}
local function module(high, low, inductor)
  local m = hl.adapter "dc module"
  m:supply { voltage = "24 V" }
  m:ambient { temperature = "25 degC" }
  m:stage "buck" {
    model = "synchronous_buck", fed_by = "source", switching_frequency = "360 kHz", light_load = "diode_emulation",
    high_switch = part[high], low_switch = part[low], inductor = part[inductor],
    capacitors = { output = { part.polymer, count = 2 } },
  }
  m:port "out" { fed_by = "buck", voltage = "12 V", current = "4 A" }
  m:box { size = "60 x 40 x 20 mm", wall = "2 mm", material = "polycarbonate", fill = "air", up = "z1" }
  m:board "main" { low = "4 x 4 x 6 mm", high = "56 x 36 x 7.6 mm", copper = "70 um", coverage = 0.6 }
  m:place "buck.high_switch" { at = "20 x 15 x 8.1 mm", size = "3.3 x 3.3 x 1 mm", board = "main" }
  m:place "buck.low_switch" { at = "20 x 25 x 8.1 mm", size = "3.3 x 3.3 x 1 mm", board = "main" }
  m:place "buck.inductor" { at = "34 x 20 x 10.1 mm", size = "10 x 10 x 5 mm", board = "main" }
  m:place "buck.output" { at = "48 x 20 x 11.6 mm", board = "main" }
  return m
end
local last
for _, high in ipairs { "switch_a", "switch_b", "switch_c" } do
  for _, low in ipairs { "switch_a", "switch_b", "switch_c" } do
    for _, inductor in ipairs { "inductor_a", "inductor_b" } do
      last = module(high, low, inductor)
      for _, load in ipairs { 0.25, 1 } do
        local result = last:solve { load = load }
        rows[#rows + 1] = { result.power.efficiency, high, low, inductor, load }
      end
    end
  end
end
table.sort(rows, function(a, b) return a[1] > b[1] end)
for i = 1, 3 do
  print(("best %s %s %s %g %.17g"):format(rows[i][2], rows[i][3], rows[i][4], rows[i][5], rows[i][1]))
end
return last
