-- exit: 1
-- expect: module 'socket' is not open to scripts
local hl = require "heatledger"
local a = hl.adapter "wrong on purpose"
require "socket"
return a
