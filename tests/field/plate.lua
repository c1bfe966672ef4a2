-- A dc box with one hot part whose pad leads to the floor; a plate below it spreads the heat.  Invented.
local hl = require "heatledger"
local part = hl.parts "plate.yaml"
local box = hl.adapter "box with a plate"
box:supply { voltage = "12 V" }
box:stage "out" { model = "output_switch", fed_by = "source", sense_resistor = part.shunt }
box:port "port" { fed_by = "out", voltage = "12 V", current = "2 A" }
box:box { size = "70 x 50 x 25 mm", wall = "2 mm", material = "polycarbonate", network = "field" }
box:board "main" { low = "5 x 5 x 8 mm", high = "65 x 45 x 9.6 mm", copper = "70 um" }
box:place "out.sense_resistor" { at = "20 x 25 x 6 mm", board = "main", pad = "z0", pad_resistance = "3 K/W" }
-- @extra@
return box
