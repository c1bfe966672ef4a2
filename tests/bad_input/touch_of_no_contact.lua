-- exit: 1
-- expect: touch_of_no_contact.lua:5: touch: no contact 'hold'; did you mean 'held'? Known: held, grip, touch, brush, none
local hl = require "heatledger"
local bench = hl.adapter "bench"
bench:touch { contact = "hold" }
bench:supply { voltage = "48 V" }
bench:stage "consumer" { model = "housekeeping", fed_by = "source", power = "1 W" }
return bench
