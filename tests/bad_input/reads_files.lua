-- exit: 1
-- expect: attempt to index a nil value (global 'io')
local hl = require "heatledger"
local a = hl.adapter "wrong on purpose"
io.open("/etc/hostname")
return a
