-- A small wall adapter: 12 V, 2.5 A (30 W) through a cable, fixed-frequency flyback with a Schottky diode.
-- Everything here is invented: no such product exists, and its parts (parts.yaml) are of nobody's make.
--
--   heatledger solve examples/small_adapter/adapter.lua --set mains.voltage='115 V' --set load=0.5

local hl = require "heatledger"
local part = hl.parts "parts.yaml"

local small = hl.adapter "small adapter, 30 W, one port"

small:mains { voltage = "230 Vrms", frequency = "50 Hz" }
small:ambient { temperature = "25 degC" }

-- --------------------------------------------------------------- mains side --
-- Below 75 W no power-factor stage is asked for: the bridge charges the bulk capacitor straight from the mains.

small:stage "filter" {
  model = "mains_input_filter", fed_by = "mains",
  fuse = part.fuse,
  thermistor = part.inrush_thermistor,
  common_mode_choke = part.common_mode_choke,
  x_capacitor = part.x_capacitor,
  discharge_resistor = part.discharge_resistor,
  varistor = part.varistor,
}

small:stage "rectifier" {
  model = "capacitor_input_rectifier", fed_by = "filter",
  rectifier = part.bridge, minimum_bus_voltage = "65 V",
  capacitors = { bulk = part.bulk_capacitor },
}

small:stage "housekeeping" { model = "housekeeping", fed_by = "rectifier", power = "10 mW" }

-- ------------------------------------------------------------------ flyback --
-- It sees the mean of the bus.  To look along the ripple: --set flyback.input_ripple='26 V' (115 V, full load).

small:stage "flyback" {
  model = "flyback", fed_by = "rectifier",
  mode = "fixed_frequency", switching_frequency = "65 kHz", output_voltage = "12.1 V",
  maximum_duty = 0.75, peak_current_limit = "1.8 A", burst_peak_current = "0.35 A",
  clamp = "resistor",
  switch = part.primary_switch, transformer = part.transformer, rectifier = part.output_diode,
  clamp_resistor = { part.clamp_resistor, count = 2 }, clamp_capacitor = part.clamp_capacitor,
  clamp_diode = part.clamp_diode,
  sense_resistor = part.primary_sense,
  capacitors = { electrolytic = { part.output_electrolytic, count = 2 }, ceramic = part.output_ceramic },
}

-- The divider of the feedback and its optocoupler.
small:stage "feedback" { model = "housekeeping", fed_by = "flyback", power = "5 mW" }

-- No switch in the output: 1.2 m of cable, both conductors, and the plug.
small:stage "cord" { model = "output_switch", fed_by = "flyback", cable = part.cable }

small:port "plug" { fed_by = "cord", voltage = "12 V", current = "2.5 A" }

-- --------------------------------------------------------------------- heat --
-- Lengths in the outer coordinates of the case.  x0 carries the pins and faces the wall, which covers most of it;
-- z is up.

small:box {
  size = "42 x 80 x 34 mm", wall = "2.2 mm", material = "polycarbonate", fill = "air", up = "z1",
  covered = { x0 = 0.9 }, cover_conductance = "4 W/(m^2 K)",
}

-- Two layers of 35 um copper, a third of it etched away.
small:board "main" { low = "5 x 4 x 6 mm", high = "37 x 76 x 7.6 mm", copper = "70 um", coverage = 0.65 }

-- Bodies stand on the board (z = 7.6 mm) or hang below it (6 mm); `at` is the middle of the body.
local function on_top(item, x, y, height, extra)
  local options = { at = ("%g x %g x %g mm"):format(x, y, 7.6 + height / 2), board = "main" }
  for key, value in pairs(extra or {}) do options[key] = value end
  small:place(item)(options)
end
local function below(item, x, y, height, extra)
  local options = { at = ("%g x %g x %g mm"):format(x, y, 6 - height / 2), board = "main" }
  for key, value in pairs(extra or {}) do options[key] = value end
  small:place(item)(options)
end

on_top("filter.fuse", 11, 9, 8)
on_top("filter.varistor", 23, 7, 12)
on_top("filter.thermistor", 33, 10, 9)
on_top("filter.x_capacitor", 13, 17, 11)
below("filter.discharge_resistor", 12, 17, 0.6)
on_top("filter.common_mode_choke", 29, 20, 14)
below("rectifier.rectifier", 20, 28, 2.4)
on_top("rectifier.bulk", 20, 37, 16, { size = "28 x 16 x 16 mm" }) -- lying along x
on_top("flyback.transformer", 20, 56, 20)
below("flyback.switch", 28, 48, 2.3)
below("flyback.sense_resistor", 20, 46, 0.6)
below("flyback.clamp_resistor", 32, 54, 1)
below("flyback.clamp_diode", 34, 48, 2)
below("flyback.clamp_capacitor", 33, 59, 1.2)
below("flyback.rectifier", 20, 66, 2.3)
on_top("flyback.electrolytic", 20, 71, 16, { at = "20 x 70 x 15.6 mm", size = "20 x 8 x 16 mm" })
below("flyback.ceramic", 29, 70, 1.6)

-- The cable ends in the case; what lies outside, 1.2 m of 5 mm round, gives its heat to the room
-- (about 10 W/(m^2 K)).
small:place "cord.cable" { at = "21 x 73 x 27 mm" }
small:link { "cord.cable", "ambient", conductance = "0.19 W/K" }

return small
