-- A small dc module in a box for the sweep tests.  Three of its places may hold other parts.
local hl = require "heatledger"
local part = hl.parts "parts.yaml"
local module = hl.adapter "dc module"
module:supply { voltage = "24 V" }
module:ambient { temperature = "25 degC" }
module:stage "buck" {
  model = "synchronous_buck", fed_by = "source", switching_frequency = "360 kHz", light_load = "diode_emulation",
  high_switch = { part.switch_a, alternatives = { part.switch_b, part.switch_c } },
  low_switch = { part.switch_a, alternatives = { part.switch_b, part.switch_c } },
  inductor = { part.inductor_a, alternatives = { part.inductor_b } },
  capacitors = { output = { part.polymer, count = 2, alternatives = { part.ceramic } } },
}
module:port "out" { fed_by = "buck", voltage = "12 V", current = "4 A" }
module:box { size = "60 x 40 x 20 mm", wall = "2 mm", material = "polycarbonate", fill = "air", up = "z1" }
module:board "main" { low = "4 x 4 x 6 mm", high = "56 x 36 x 7.6 mm", copper = "70 um", coverage = 0.6 }
module:place "buck.high_switch" { at = "20 x 15 x 8.1 mm", board = "main" }
module:place "buck.low_switch" { at = "20 x 25 x 8.1 mm", board = "main" }
module:place "buck.inductor" { at = "34 x 20 x 10.1 mm", board = "main" }
module:place "buck.output" { at = "48 x 20 x 11.6 mm", board = "main" }
return module
