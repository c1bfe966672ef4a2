-- exit: 1
-- expect: link: 'law' means nothing here; known: conductance, natural, radiation, resistance
local hl = require "heatledger"
local a = hl.adapter "link"
a:link { "x", "ambient", law = "fixed", conductance = "1 W/K" }
return a
