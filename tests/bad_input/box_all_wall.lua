-- exit: 1
-- expect: box_all_wall.lua:7: box: the wall must be above 0 and leave room inside
local hl = require "heatledger"
local a = hl.adapter "wrong on purpose"
a:supply { voltage = "48 V" }
a:stage "consumer" { model = "housekeeping", fed_by = "source", power = "1 W" }
a:box { size = "80 x 50 x 30 mm", wall = "20 mm" }
return a
