-- A wall adapter with two ports, 65 W in all: 20 V, 2.75 A and 5 V, 2 A; quasi-resonant flyback on a 20 V bus.
-- Everything here is invented: no such product exists, and its parts (parts.yaml) are of nobody's make.
--
--   heatledger solve examples/wall_adapter/adapter.lua --set mains.voltage='115 V' --set load=0.5

local hl = require "heatledger"
local part = hl.parts "parts.yaml"

local wall = hl.adapter "wall adapter, 65 W, two ports"

wall:mains { voltage = "230 Vrms", frequency = "50 Hz" }
wall:ambient { temperature = "25 degC" }

-- --------------------------------------------------------------- mains side --
-- Below 75 W no power-factor stage is asked for: the bridge charges the bulk capacitor straight from the mains.

wall:stage "filter" {
  model = "mains_input_filter", fed_by = "mains",
  fuse = part.fuse,
  thermistor = part.inrush_thermistor,
  common_mode_choke = part.common_mode_choke_1,
  second_common_mode_choke = part.common_mode_choke_2,
  x_capacitor = part.x_capacitor,
  discharge_resistor = part.discharge_resistor,
  varistor = part.varistor,
}

wall:stage "rectifier" {
  model = "capacitor_input_rectifier", fed_by = "filter",
  rectifier = { part.bridge, count = 2 }, minimum_bus_voltage = "60 V",
  capacitors = { bulk = part.bulk_capacitor, small_bulk = part.small_bulk_capacitor },
}

wall:stage "primary_housekeeping" { model = "housekeeping", fed_by = "rectifier", power = "30 mW" }

-- ------------------------------------------------------------------ flyback --
-- It sees the mean of the bus.  To look along the ripple: --set flyback.input_ripple='31 V' (115 V, full load).

wall:stage "flyback" {
  model = "flyback", fed_by = "rectifier",
  mode = "quasi_resonant", maximum_frequency = "130 kHz", drain_capacitance = "90 pF", output_voltage = "20.1 V",
  peak_current_limit = "3.9 A", burst_peak_current = "0.6 A", dead_time = "80 ns",
  clamp = "resistor",
  switch = part.primary_switch, transformer = part.transformer, rectifier = part.synchronous_rectifier,
  sense_resistor = part.primary_sense,
  clamp_resistor = { part.clamp_resistor, count = 4 }, clamp_capacitor = part.clamp_capacitor,
  clamp_diode = part.clamp_diode,
  capacitors = { polymer = { part.bus_polymer, count = 2 }, ceramic = { part.bus_ceramic, count = 2 } },
}

wall:stage "secondary_housekeeping" { model = "housekeeping", fed_by = "flyback", power = "30 mW" }

-- -------------------------------------------------------------------- ports --

wall:stage "port_1_switch" {
  model = "output_switch", fed_by = "flyback",
  switch = part.output_switch, sense_resistor = part.sense_resistor,
}
wall:port "port_1" { fed_by = "port_1_switch", voltage = "20 V", current = "2.75 A" }

wall:stage "port_2_buck" {
  model = "synchronous_buck", fed_by = "flyback",
  switching_frequency = "330 kHz", output_voltage = "5.1 V",
  light_load = "pulse_skipping", skip_peak_current = "0.6 A",
  high_switch = part.buck_switch, low_switch = part.buck_switch, inductor = part.buck_inductor,
  capacitors = { polymer = part.output_polymer, ceramic = { part.output_ceramic, count = 2 } },
}
wall:stage "port_2_switch" {
  model = "output_switch", fed_by = "port_2_buck", arrangement = "single",
  switch = part.output_switch, sense_resistor = part.sense_resistor,
}
wall:port "port_2" { fed_by = "port_2_switch", voltage = "5 V", current = "2 A" }

-- --------------------------------------------------------------------- heat --
-- Lengths in the outer coordinates of the case.  x0 carries the pins and faces the wall, which covers most of it;
-- z is up, and the ports look down the length of the case.

wall:box {
  size = "50 x 94 x 46 mm", wall = "2.4 mm", material = "polycarbonate", fill = "air", up = "z1",
  covered = { x0 = 0.9 }, cover_conductance = "4 W/(m^2 K)",
}

-- Two layers of 70 um copper, a third of it etched away.
wall:board "main" { low = "5 x 5 x 9 mm", high = "45 x 89 x 10.6 mm", copper = "140 um", coverage = 0.65 }

-- Bodies stand on the board (z = 10.6 mm) or hang below it (9 mm); `at` is the middle of the body.
local function on_top(item, x, y, height, extra)
  local options = { at = ("%g x %g x %g mm"):format(x, y, 10.6 + height / 2), board = "main" }
  for key, value in pairs(extra or {}) do options[key] = value end
  wall:place(item)(options)
end
local function below(item, x, y, height, extra)
  local options = { at = ("%g x %g x %g mm"):format(x, y, 9 - height / 2), board = "main" }
  for key, value in pairs(extra or {}) do options[key] = value end
  wall:place(item)(options)
end

on_top("filter.fuse", 11, 9, 8)
on_top("filter.varistor", 24, 8, 14)
on_top("filter.thermistor", 36, 10, 11)
on_top("filter.x_capacitor", 15, 17, 12)
below("filter.discharge_resistor", 14, 17, 0.6)
on_top("filter.common_mode_choke", 33, 21, 17)
on_top("filter.second_common_mode_choke", 13, 27, 10)
below("rectifier.rectifier", 24, 29, 2.4)
on_top("rectifier.bulk", 24, 40, 18, { size = "36 x 18 x 18 mm" }) -- lying along x
wall:place "rectifier.small_bulk" { at = "33 x 40 x 33.6 mm", size = "16 x 10 x 10 mm" } -- on top of it
on_top("flyback.transformer", 24, 63, 21)
below("flyback.switch", 32, 54, 0.85, { pad = "z0", pad_resistance = "12 K/W" })
below("flyback.sense_resistor", 24, 52, 0.6)
below("flyback.clamp_resistor", 38, 60, 0.6)
below("flyback.clamp_diode", 39, 52, 2)
below("flyback.clamp_capacitor", 39, 66, 1.2)
below("flyback.rectifier", 15, 70, 1, { pad = "z0", pad_resistance = "12 K/W" })
on_top("flyback.polymer", 14, 79, 12)
below("flyback.ceramic", 14, 77, 1.6)
below("port_1_switch.switch", 11, 82, 1)
below("port_1_switch.sense_resistor", 17, 83, 0.6)
below("port_2_buck.high_switch", 27, 75, 1)
below("port_2_buck.low_switch", 32, 75, 1)
on_top("port_2_buck.inductor", 29, 80, 5)
on_top("port_2_buck.polymer", 37, 81, 8)
below("port_2_buck.ceramic", 36, 78, 1.6)
below("port_2_switch.switch", 33, 83, 1)
below("port_2_switch.sense_resistor", 38, 83, 0.6)

return wall
