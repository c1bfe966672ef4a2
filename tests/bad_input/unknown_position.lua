-- exit: 1
-- expect: unknown_position.lua:7: box: no position 'tabel'; did you mean 'table'? Known: bed, blanket, free, table, wall
local hl = require "heatledger"
local a = hl.adapter "wrong on purpose"
a:supply { voltage = "48 V" }
a:stage "consumer" { model = "housekeeping", fed_by = "source", power = "1 W" }
a:box { size = "80 x 50 x 30 mm", position = "tabel" }
return a
