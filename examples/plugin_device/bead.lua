-- A supply that feeds a load through a ferrite bead: shows a part whose model is a plugin of one's own.
local hl = require "heatledger"
local part = hl.parts "parts.yaml"

local bench = hl.adapter "bead on a wire"
bench:supply { voltage = "12 V" }
bench:stage "wire" { model = "output_switch", fed_by = "source", sense_resistor = part.bead }
bench:port "lamp" { fed_by = "wire", voltage = "12 V", current = "2 A" }
return bench
