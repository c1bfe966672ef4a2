-- exit: 1
-- expect: back_without_wall.lua:7: box: back is the face towards the wall and counts with position = "wall" alone
local hl = require "heatledger"
local a = hl.adapter "wrong on purpose"
a:supply { voltage = "48 V" }
a:stage "consumer" { model = "housekeeping", fed_by = "source", power = "1 W" }
a:box { size = "80 x 50 x 30 mm", position = "table", back = "x0" }
return a
