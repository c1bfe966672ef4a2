-- Voltage at the pins of a plug pulled out of its socket, by the capacitance behind them.

return {
  name = "discharge_iec_62368_1",
  title = "IEC 62368-1, Audio/video, information and communication technology equipment - Safety requirements",
  year = 2018,
  clause = "5.5.2.2, table 5, class ES1",
  seen = "clause and the 2 s seen in published test reports; the table and the tolerance of the mains from memory",

  after = 2, -- s
  -- The highest voltage on a usual label, 240 V, and 10 % more: common practice.
  mains = { voltage = 264, frequency = 50 },

  -- F and V. Between two rows the stricter one is taken; the standard allows to interpolate (from memory).
  rows = {
    { from = 300e-9, volts = 60 }, { from = 170e-9, volts = 75 }, { from = 91e-9, volts = 100 },
    { from = 61e-9, volts = 125 }, { from = 41e-9, volts = 150 }, { from = 28e-9, volts = 200 },
    { from = 18e-9, volts = 250 }, { from = 12e-9, volts = 350 }, { from = 8e-9, volts = 500 },
  },

  -- The standard before it. source: IEC 60950-1, 2.1.1.7, seen quoted in full.
  before = { title = "IEC 60950-1, 2.1.1.7", above = 0.1e-6, time_constant = 1 },
}
