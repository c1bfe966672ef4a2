-- The boxed buck, standing.
local hl = require "heatledger"
return hl.script("boxed.lua", { box = { up = "x1", position = "free", air_speed = "0.5 m/s" }, altitude = "2500 m" })
