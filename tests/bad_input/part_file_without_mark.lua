-- exit: 1
-- expect: unmarked.yaml:2:1: it does not say what it is; begin the file with 'heatledger: parts/1'
local hl = require "heatledger"
local a = hl.adapter "wrong on purpose"
local part = hl.parts "unmarked.yaml"
return a
