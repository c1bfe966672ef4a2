-- exit: 1
-- expect: negative
local hl = require "heatledger"
local a = hl.adapter "wrong on purpose"
a:supply { voltage = "48 V" }
a:stage "consumer" { model = "housekeeping", fed_by = "source", power = "1 W" }
a:node "lump" {}
a:link { "lump", "ambient", resistance = "-10 K/W" }
return a
