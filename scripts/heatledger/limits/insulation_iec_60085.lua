-- Thermal classes of electrical insulation: highest temperature of the hottest spot, degC.

return {
  name = "insulation_iec_60085",
  title = "IEC 60085, Electrical insulation - Thermal evaluation and designation",
  year = 2007,
  clause = "table 1",
  seen = "letters and temperatures seen in two secondary tables of insulation classes; the standard itself not seen",
  classes = {
    { "Y", 90 }, { "A", 105 }, { "E", 120 }, { "B", 130 }, { "F", 155 }, { "H", 180 }, { "N", 200 }, { "R", 220 },
    { "250", 250 },
  },
  assumed = "B", -- for windings that state none: usual in small supplies, common practice, no source
}
