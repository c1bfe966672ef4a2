-- leaky.lua with its coil led to the outside by hand: what cools it steadies the box and leads no run-away.  Invented.
local hl = require "heatledger"
local box = hl.script "leaky.lua"
box:link { "buck.inductor", "ambient", conductance = "2 W/K" }
return box
