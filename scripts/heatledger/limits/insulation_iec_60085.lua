-- Thermal classes of electrical insulation: highest temperature of the hottest spot and of the mean, degC.

return {
  name = "insulation_iec_60085",
  title = "IEC 60085, Electrical insulation - Thermal evaluation and designation",
  year = 2007,
  clause = "table 1",
  seen = "letters and temperatures seen in two secondary tables of insulation classes; the standard itself not seen",
  -- letter, of the hottest spot, of the mean. A class is what its hottest spot may have; a winding whose mean alone is
  -- known (as the change of its resistance tells) may have less, since its inside is hotter. Allowances: A 5, B 10,
  -- F 15 and H 20 K, US Bureau of Reclamation, FIST 1-4, Permissible Loading of Generators, table 1 (hottest spot 105,
  -- 130, 155, 180; by resistance 100, 120, 140, 160), seen in a copy; Y as A's forerunner O there (90 and 85). E by
  -- safety standards of supplies (115), from memory. N, R, 250: H's 20 K or more, common practice, no source.
  classes = {
    { "Y", 90, 85 }, { "A", 105, 100 }, { "E", 120, 115 }, { "B", 130, 120 }, { "F", 155, 140 }, { "H", 180, 160 },
    { "N", 200, 180 }, { "R", 220, 200 }, { "250", 250, 225 },
  },
  assumed = "B", -- for windings that state none: usual in small supplies, common practice, no source
}
