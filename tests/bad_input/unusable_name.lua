-- exit: 1
-- expect: is not usable; use 1 to 48 letters
local hl = require "heatledger"
local a = hl.adapter "wrong on purpose"
a:supply { voltage = "48 V" }
a:stage "my load!" { model = "housekeeping", fed_by = "source", power = "1 W" }
return a
