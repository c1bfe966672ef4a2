-- A 5.6 V supply, a linear regulator and a load of 0.5 A: a stage whose model is a plugin of one's own.
local hl = require "heatledger"
local part = hl.parts "parts.yaml"

local bench = hl.adapter "post-regulator on the bench"
bench:supply { voltage = "5.6 V" }
bench:stage "regulator" {
  model = "linear_regulator", fed_by = "source",
  output_voltage = "5 V", series_resistor = part.dropper,
}
bench:port "sensor" { fed_by = "regulator", voltage = "5 V", current = "0.5 A" }
return bench
