-- A bare mains rectifier with one port: efficient enough to meet every law while its standby power is small.
local hl = require "heatledger"
local part = hl.parts "parts.yaml"
local adapter = hl.adapter "bare rectifier"
adapter:mains { voltage = "230 V", frequency = "50 Hz" }
adapter:stage "rectifier" {
  model = "capacitor_input_rectifier", fed_by = "mains", load = "constant_current", rectifier = part.bridge,
  capacitors = { bulk = part.bulk },
}
adapter:stage "standby" { model = "housekeeping", fed_by = "rectifier", power = "20 mW" }
adapter:port "output" { fed_by = "rectifier", voltage = "300 V", current = "0.15 A" }
return adapter
