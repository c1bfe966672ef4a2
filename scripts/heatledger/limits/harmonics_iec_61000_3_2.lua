-- Harmonic currents that equipment may draw from the public mains, A rms by order.

return {
  name = "harmonics_iec_61000_3_2",
  title = "IEC 61000-3-2, Limits for harmonic current emissions (equipment input current up to 16 A per phase)",
  year = 2018,
  seen = "all figures of both tables and the 75 W seen second hand, in test reports and a maker's summary; that " ..
    "class D "
    .. "is the lower of both columns seen in a public discussion, December 1999; clauses from memory",

  mains = { voltage = 230, frequency = 50 }, -- it covers nominal voltages from 220 V
  from_input = 75,                           -- W: no limits up to here, except for lighting

  -- Told beside the classes, and judged by nobody here.
  unchecked = {
    name = "c",
    title = "class C, which is lighting equipment, a supply sold for lamps or light strips among it",
    reason = "not checked here: it has limits of its own, also below 75 W, and shares of the fundamental in place "
      .. "of amperes; where the supply is sold for lighting, ask a qualified laboratory",
  },

  -- A row holds for its order, or for every second one from `from` to `to`.
  classes = {
    {
      name = "a",
      title = "class A, which is whatever no other class names",
      clause = "clause 7, table 1",
      rows = {
        { order = 2, amperes = 1.08 }, { order = 3, amperes = 2.30 }, { order = 4, amperes = 0.43 },
        { order = 5, amperes = 1.14 }, { order = 6, amperes = 0.30 }, { order = 7, amperes = 0.77 },
        { order = 9, amperes = 0.40 }, { order = 11, amperes = 0.33 }, { order = 13, amperes = 0.21 },
        { from = 8, to = 40, amperes_times_order = 0.23 * 8 },
        { from = 15, to = 39, amperes_times_order = 0.15 * 15 },
      },
    },
    {
      name = "d",
      title = "class D, which is supplies of computers, screens and television sets",
      clause = "clause 7, table 3",
      to_input = 600, -- W
      never_above = "a",
      rows = {
        { order = 3, per_watt = 3.4e-3 }, { order = 5, per_watt = 1.9e-3 }, { order = 7, per_watt = 1.0e-3 },
        { order = 9, per_watt = 0.5e-3 }, { order = 11, per_watt = 0.35e-3 },
        { from = 13, to = 39, per_watt_times_order = 3.85e-3 },
      },
    },
  },
}
