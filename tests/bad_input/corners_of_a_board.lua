-- exit: 1
-- expect: corners_of_a_board.lua:8: board 'main': its corners are not in order along y: low 45 mm is not below high 5 mm; swap the two
local hl = require "heatledger"
local a = hl.adapter "wrong on purpose"
a:supply { voltage = "48 V" }
a:stage "consumer" { model = "housekeeping", fed_by = "source", power = "1 W" }
a:box { size = "80 x 50 x 30 mm" }
a:board "main" { low = "5 x 45 x 5 mm", high = "75 x 5 x 6.6 mm" }
return a
