-- exit: 1
-- expect: board_out_of_the_box.lua:8
-- expect: board 'main' reaches 5 mm out of the box at y0; outside the box is 80 x 50 x 30 mm: move it or enlarge the box
local hl = require "heatledger"
local a = hl.adapter "wrong on purpose"
a:supply { voltage = "48 V" }
a:box { size = "80 x 50 x 30 mm" }
a:board "main" { low = "5 x -5 x 5 mm", high = "75 x 45 x 6.6 mm" }
a:stage "consumer" { model = "housekeeping", fed_by = "source", power = "1 W" }
return a
