-- exit: 1
-- expect: two_sources.lua:6
-- expect: a second source
local hl = require "heatledger"
local a = hl.adapter "wrong on purpose"
a:supply { voltage = "48 V" }
a:supply { voltage = "48 V" }
a:stage "load" { model = "housekeeping", fed_by = "source", power = "1 W" }
return a
