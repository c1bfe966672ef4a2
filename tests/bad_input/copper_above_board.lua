-- exit: 1
-- expect: copper_above_board.lua:8: main copper: 2 mm of copper does not fit into a board 1.6 mm thick
local hl = require "heatledger"
local a = hl.adapter "wrong on purpose"
a:supply { voltage = "48 V" }
a:stage "consumer" { model = "housekeeping", fed_by = "source", power = "1 W" }
a:box { size = "80 x 50 x 30 mm" }
a:board "main" { low = "5 x 5 x 5 mm", high = "75 x 45 x 6.6 mm", copper = "2 mm" }
return a
