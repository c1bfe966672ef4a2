-- exit: 1
-- expect: cover_of_no_face.lua:7: covered: no face 'back'; known: x0, x1, y0, y1, z0, z1
local hl = require "heatledger"
local a = hl.adapter "wrong on purpose"
a:supply { voltage = "48 V" }
a:stage "consumer" { model = "housekeeping", fed_by = "source", power = "1 W" }
a:box { size = "80 x 50 x 30 mm", covered = { back = 1 } }
return a
