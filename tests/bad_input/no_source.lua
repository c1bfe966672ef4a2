-- exit: 1
-- expect: the adapter has no source
-- expect: state the mains voltage
local hl = require "heatledger"
local a = hl.adapter "wrong on purpose"
a:stage "consumer" { model = "housekeeping", fed_by = "source", power = "1 W" }
return a
