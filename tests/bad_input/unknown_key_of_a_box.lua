-- exit: 1
-- expect: unknown_key_of_a_box.lua:7: box: 'covers' means nothing here; did you mean 'covered'? Known: air_speed
local hl = require "heatledger"
local a = hl.adapter "wrong on purpose"
a:supply { voltage = "48 V" }
a:stage "consumer" { model = "housekeeping", fed_by = "source", power = "1 W" }
a:box { size = "80 x 50 x 30 mm", covers = { x0 = 1 } }
return a
