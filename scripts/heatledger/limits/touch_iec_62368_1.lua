-- Touch temperatures of accessible parts, degC, by material and by how long a part is touched (class TS1).
-- `seen` says what of each figure was read in a source, and where; the rest is from memory and to be checked
-- against the standard itself before anything rests on it.

return {
  name = "touch_iec_62368_1",
  title = "IEC 62368-1, Audio/video, information and communication technology equipment - Safety requirements",
  year = 2018,
  clause = "9.4.2, table 38, class TS1",
  -- A product-safety discussion list (January 2020, members of the committee) tells how the table is meant:
  -- the figures hold as they stand for a test at 25 degC and are not moved with the ambient.
  ambient = "measured at 25 degC ambient; not moved with the ambient",
  ambient_seen = "seen in a public discussion of the table, January 2020",

  materials = { "metal", "glass", "plastic", "wood" },
  contacts = {
    {
      name = "held",
      title = "held or touched in normal use, over 1 min",
      metal = 48, glass = 48, plastic = 48, wood = 48,
      seen = "48 degC as the lowest figure seen in a public discussion, September 2021; by material from memory",
    },
    {
      name = "grip",
      title = "held for short times, 10 s to 1 min",
      metal = 51, glass = 56, plastic = 60, wood = 60,
      seen = "from memory",
    },
    {
      name = "touch",
      title = "touched occasionally, 1 s to 10 s",
      metal = 60, glass = 71, plastic = 77, wood = 107,
      seen = "plastic 77 degC seen in a public discussion of the table, January 2020; the others from memory",
    },
    {
      name = "brush",
      title = "need not be touched in use, under 1 s",
      metal = 70, glass = 85, plastic = 94, wood = 140,
      seen = "plastic 94 degC seen in a public discussion, September 2021; the others from memory",
    },
  },
  usual_contact = "touch", -- an adapter is touched to plug and unplug it: common practice, no source
}
