-- One buck in a box that is described in many ways: by other scripts, with what they change.  Invented.
local hl = require "heatledger"
local part = hl.parts "boxed.yaml"
local given = ... or {}
local box = hl.adapter "boxed buck"
box:supply { voltage = "40 V" }
box:ambient { temperature = "25 degC", altitude = given.altitude }
box:stage "buck" { model = "synchronous_buck", fed_by = "source", switching_frequency = "200 kHz",
  light_load = "diode_emulation", high_switch = part.high, low_switch = part.diode, inductor = part.coil }
box:stage "out" { model = "output_switch", fed_by = "buck", sense_resistor = part.shunt }
box:port "port" { fed_by = "out", voltage = "12 V", current = "1.1 A" }
local case = { size = "80 x 56 x 27 mm", wall = "2 mm", material = "polycarbonate" }
for key, value in pairs(given.box or {}) do case[key] = value end
box:box(case)
box:board "main" { low = "5 x 5 x 9 mm", high = "75 x 51 x 10.6 mm", copper = "140 um", coverage = 0.7 }
if given.plate then
  box:spreader "plate" { low = "5 x 5 x 2 mm", high = "75 x 51 x 3 mm", material = "aluminium", emissivity = 0.7 }
end
local pad = given.plate and "z0" or nil
box:place "buck.high_switch" { at = "20 x 24 x 8.5 mm", board = "main", pad = pad, pad_resistance = pad and "8 K/W" }
box:place "buck.low_switch" { at = "40 x 25 x 11.75 mm", board = "main" }
box:place "buck.inductor" { at = "60 x 30 x 13.1 mm", board = "main" }
box:place "out.sense_resistor" { at = "66 x 14 x 11.1 mm", board = "main" }
if given.lead then box:link { "buck.low_switch", "ambient", conductance = given.lead } end
return box
