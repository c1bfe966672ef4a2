-- exit: 1
-- expect: pad_to_no_face.lua:8: consumer.sense_resistor pad: no face 'top'; known: x0, x1, y0, y1, z0, z1
-- expect: pad_to_no_face.lua:9: place x.y: pad_resistance without pad; name the face the pad leads to
local hl = require "heatledger"
local a = hl.adapter "wrong on purpose"
a:supply { voltage = "48 V" }
a:stage "consumer" { model = "housekeeping", fed_by = "source", power = "1 W" }
a:place "consumer.sense_resistor" { at = "7 x 25 x 15 mm", pad = "top" }
a:place "x.y" { at = "7 x 25 x 15 mm", pad_resistance = "1 K/W" }
return a
