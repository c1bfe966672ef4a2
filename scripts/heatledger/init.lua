-- heatledger: describe a mains adapter the way an engineer would say it aloud.
--
--   local hl = require "heatledger"
--   local part = hl.parts "parts.yaml"
--   local charger = hl.adapter "desk charger"
--   charger:mains { voltage = "230 Vrms", frequency = "50 Hz" }
--   charger:stage "bridge" { model = "bridge_rectifier", fed_by = "mains", rectifier = { part.db1, count = 2 } }
--   charger:port "usb_c" { fed_by = "output", voltage = "20 V", current = "5 A" }
--   return charger
--
-- This file only turns tables into calls of the C binding; the physics is in the core.

local binding = require "heatledger.binding"
binding.library(select(2, ...)) -- `require` tells the path of this file
local materials = require "heatledger.materials"
local catalogue = require "heatledger.catalogue"
local law = require "heatledger.law"
local efficiency = require "heatledger.efficiency"
local sweep = require "heatledger.sweep"
local profile = require "heatledger.profile"
local limits = require "heatledger.limits"
local standards = require "heatledger.standards"
local words = require "heatledger.words"
local known, set, si, share, fail = words.known, words.set, words.si, words.share, words.fail

local hl = { materials = materials, law = law, limits = limits, standards = standards }

-- Pairs in the order of their names, so that every run describes the same design.
local function ordered(options)
  local names, n = {}, 0
  for key in pairs(options) do n = n + 1; names[n] = key end
  table.sort(names, function(a, b) return tostring(a) < tostring(b) end)
  local i = 0
  return function()
    i = i + 1
    if names[i] ~= nil then return names[i], options[names[i]] end
  end
end

-- Three lengths in SI from "88 x 60 x 31 mm" or a table of three.
local function lengths(value, what)
  if value == nil then fail("%s: missing; three lengths are wanted, such as \"88 x 60 x 31 mm\"", what) end
  if type(value) == "table" then
    if #value ~= 3 then fail("%s: expected three lengths, such as 88 x 60 x 31 mm", what) end
    local out = {}
    for i = 1, 3 do out[i] = si(value[i], "m", what) end
    return out
  end
  if type(value) ~= "string" then fail("%s: expected three lengths, such as \"88 x 60 x 31 mm\"", what) end
  local good, result = pcall(binding.product, value, "m")
  if not good then fail("%s: %s", what, words.without_place(result)) end
  if #result ~= 3 then fail("%s: expected three lengths, such as 88 x 60 x 31 mm", what) end
  return result
end

-- ------------------------------------------------------------------- parts --

-- parts "file.yaml", or parts { "a.yaml", "b.yaml" }: a table whose fields are the parts.  What a part known by
-- its marking does not state is estimated; { "a.yaml", estimates = "mine.yaml" } brings rules of one's own, which
-- come after the library's, and estimates = false leaves all out.
-- { "a.yaml", over = "fitted.yaml" }: a part that stands in the second stands for that of the first.
function hl.parts(files)
  local read = binding.catalogue()
  if type(files) == "string" then files = { files } end
  if type(files) ~= "table" or #files == 0 then
    fail("parts: name a file of parts, such as hl.parts \"parts.yaml\"")
  end
  local only = {}
  for key, value in pairs(files) do
    if type(key) ~= "number" then only[key] = value end
  end
  known("parts", only, set("estimates", "over"))
  if files.estimates ~= false then read:read_estimates() end
  if type(files.estimates) == "string" then read:read_rules(files.estimates) end
  for _, file in ipairs(files) do read:read(file) end
  if not files.over then return catalogue.view(read) end
  return catalogue.over(catalogue.view(read),
    hl.parts { files.over, estimates = files.estimates })
end

-- The starter catalogue of invented parts: catalogue.lua tells more.
hl.catalogue = catalogue.open
-- The parts of a table for which a condition holds: hl.matching(part, function(known) ... end).
hl.matching = catalogue.matching

-- ----------------------------------------------------------------- adapter --

local adapter = {}

-- What an adapter has; a statement misspelt says which there are.
function adapter.__index(_, key)
  local found = adapter[key]
  if found ~= nil or key == "design" or key == "boxed" then return found end
  local list = {}
  for name, value in pairs(adapter) do
    if type(value) == "function" and name:sub(1, 2) ~= "__" then list[#list + 1] = name end
  end
  table.sort(list)
  fail("an adapter has no statement '%s'%s", tostring(key), words.instead(key, list))
end

function hl.adapter(name)
  if type(name) ~= "string" then fail("adapter: its name is wanted, such as hl.adapter \"desk charger\"") end
  return setmetatable({ name = name, draft = binding.draft(name), profiles = {}, limits = {}, begun = {}, sized = {} },
    adapter)
end

-- Run a statement; what is wrong is kept with its line, so that all problems are told at once.
local function statement(self, action)
  local good, message = pcall(action)
  if not good then self.draft:note(words.without_place(tostring(message))) end
end

-- A statement with a name before its table, led:stage "filter" { ... }: what takes the table, and runs as one.
local function named(self, word, name, action)
  local opening = { where = binding.where(), text = ("%s \"%s\""):format(word, tostring(name)) }
  self.begun[opening] = true
  return function(options)
    self.begun[opening] = nil
    statement(self, function()
      if type(name) ~= "string" then
        fail("%s: its name is wanted before the table: %s \"name\" { ... }", word, word)
      end
      if type(options) ~= "table" then fail("%s \"%s\": a table { ... } is wanted behind the name", word, name) end
      action(options)
    end)
  end
end

-- Names that no table follows: led:stage("filter", { ... }) would lose its table.
local function all_closed(self)
  local list = {}
  for opening in pairs(self.begun) do
    list[#list + 1] = ("%s%s is followed by no table; write %s { ... }, without brackets or comma"):format(
      opening.where, opening.text, opening.text)
  end
  table.sort(list)
  if #list > 0 then error(table.concat(list, "\n"), 0) end
end

function adapter:mains(options)
  statement(self, function()
    known("mains", options, set("voltage", "frequency"))
    self.draft:source(si(options.voltage, "V", "mains voltage"), si(options.frequency, "Hz", "mains frequency"))
  end)
end

-- A dc supply instead of the mains.
function adapter:supply(options)
  statement(self, function()
    known("supply", options, set("voltage"))
    self.draft:source(si(options.voltage, "V", "supply voltage"), 0)
  end)
end

function adapter:ambient(options)
  statement(self, function()
    known("ambient", options, set("temperature", "altitude"))
    self.draft:ambient(si(options.temperature or "25 degC", "degC", "ambient temperature"),
      si(options.altitude or "0 m", "m", "altitude"))
  end)
end

-- A part, or { part, count = n }.
local function part_and_count(value, what)
  if type(value) == "userdata" then return value, 1 end
  if type(value) == "table" and type(value[1]) == "userdata" then
    known(what, value, set(1, "count", "alternatives"))
    local count = math.tointeger(tonumber(value.count or 1))
    if not count then
      fail("%s: count = %s is no whole number; give the number of parts side by side, such as count = 2", what,
        tostring(value.count))
    end
    return value[1], count
  end
  fail("%s: expected a part, or { part, count = n }", what)
end

-- { part.a, alternatives = { part.b, part.c } }: the setting "stage.slot" then chooses one by name.
local function add_alternatives(self, stage, slot, value)
  if type(value) ~= "table" then return end
  for _, part in ipairs(value.alternatives or {}) do self.draft:alternative(stage, slot, part) end
end

-- { typical = "4.7 uH", tolerance = "20 %" } as a part file would have it.
local function band_text(value)
  local fields = {}
  for key, text in ordered(value) do fields[#fields + 1] = ("%s: %s"):format(tostring(key), tostring(text)) end
  return "{ " .. table.concat(fields, ", ") .. " }"
end

local function fill_stage(self, name, options)
  if type(options.model) ~= "string" then
    fail("stage '%s' does not say its model; `heatledger models` lists them", name)
  end
  if not self.draft:stage(name, options.model, tostring(options.fed_by or "")) then return end
  local has = binding.stage_words(options.model)
  for key, value in ordered(options) do
    if key == "model" or key == "fed_by" or key == "capacitors" then goto continue end
    if has[key] == "slot" then
      local part, count = part_and_count(value, name .. "." .. key)
      self.draft:fill(name, key, part, count)
      add_alternatives(self, name, key, value)
    elseif type(value) == "table" and has[key] and value[1] == nil then
      self.draft:set(name, key, band_text(value))
    elseif type(value) == "userdata" or type(value) == "table" then
      local part, count = part_and_count(value, name .. "." .. tostring(key))
      self.draft:fill(name, tostring(key), part, count) -- says that no such slot exists, and which do
    else
      self.draft:set(name, tostring(key), value)
    end
    ::continue::
  end
  for label, value in ordered(options.capacitors or {}) do
    local part, count = part_and_count(value, name .. " capacitor")
    local word = type(label) == "number" and ("capacitor_" .. label) or label
    self.draft:bus_capacitor(name, word, part, count)
    add_alternatives(self, name, word, value)
  end
end

function adapter:stage(name)
  return named(self, "stage", name, function(options) fill_stage(self, name, options) end)
end

function adapter:port(name)
  return named(self, "port", name, function(options)
    known("port " .. name, options, set("fed_by", "voltage", "current"))
    self.draft:port(name, tostring(options.fed_by or ""), si(options.voltage, "V", name .. " voltage"),
      si(options.current, "A", name .. " current"))
  end)
end

-- -------------------------------------------------------------------- heat --

-- How it stands: which part of each face is covered, by its direction, and what the cover takes, W/(m^2 K).
-- Covers: a table top of wood; a wall; a mattress it sinks into by half; a blanket of 20 mm all around, 0.04 W/(m K),
-- whose outside is about twice that of a small case: common practice, no source.
local positions = {
  free = { covered = {}, cover = 0 },
  table = { covered = { below = 1 }, cover = 5 },
  wall = { covered = { back = 0.9 }, cover = 4 },
  bed = { covered = { below = 1, beside = 0.5 }, cover = 2 },
  blanket = { covered = { below = 1, above = 1, beside = 1 }, cover = 4 },
}
local opposite = { x0 = "x1", x1 = "x0", y0 = "y1", y1 = "y0", z0 = "z1", z1 = "z0" }

local function face(what, word) return words.one(what, word, opposite, "face") end

-- Shares of the faces that something covers, as covered = { x0 = 1 } says them.
local function stated_covers(options)
  local covered = options.covered
  if covered == nil then return nil end
  if type(covered) ~= "table" then
    fail("covered: a table of faces and covered shares is wanted, such as covered = { x0 = 1 }")
  end
  local shares = {}
  for word, value in pairs(covered) do
    if type(word) == "number" then
      fail("covered: say how much of each face is covered, such as covered = { %s = 1 }", opposite[value] and value
        or "x0")
    end
    shares[face("covered", word)] = share(value, "covered " .. word)
  end
  return shares
end

-- covered and cover_conductance of a position; back = the face towards the wall.
local function covers(options)
  if options.back and options.position ~= "wall" then
    fail("box: back is the face towards the wall and counts with position = \"wall\" alone")
  end
  if not options.position then return stated_covers(options), options.cover_conductance end
  words.one("box", options.position, positions, "position")
  if options.covered then fail "box: position or covered, not both" end
  local position = positions[options.position]
  local up, back = options.up or "z1", face("box: back", options.back or "x0")
  local covered = {}
  for each in pairs(opposite) do
    local side = each == up and "above" or each == opposite[up] and "below" or "beside"
    covered[each] = each == back and position.covered.back or position.covered[side] or 0
  end
  return covered, options.cover_conductance or position.cover
end

local box_words = set("position", "back", "size", "wall", "material", "fill", "up", "covered", "cover_conductance",
  "air_speed",
  "emissivity", "inner_emissivity", "network")

local networks = set("rule", "field")

-- Outer sides of a case, m: what no adapter has is refused, what few have is warned of.  Common practice, no source.
local function check_size(self, value, size)
  local why = words.unlike(value, size, 5e-3, 1)
  if why then fail("box size: %s", why) end
  why = words.unlike(value, size, 10e-3, 0.4)
  if why then self.draft:warn("box size: a side of " .. why) end
end

-- The sealed case: outer size, wall, material by name or { conductivity, density_heat, emissivity },
-- fill = "air" or a potting material, up = the face that looks up; position = "free", "table", "wall" (back = the
-- face towards it), "bed" or "blanket" in place of covered.  network = "rule" for a quick look, "field" for the number
-- in the report: the heat field of the box is solved once and condensed, which takes a second or two.
function adapter:box(options)
  statement(self, function()
    known("box", options, box_words)
    local wall = materials.of(options.material or "polycarbonate", "box material")
    self.boxed = materials.feels(wall)
    local network = binding.network() or options.network or "rule"
    words.one("box: network is \"rule\" (quick) or \"field\" (hottest spots, seconds)", network, networks, "network")
    local up = face("box: up", options.up or "z1")
    local covered, cover = covers(options)
    local fill = options.fill and options.fill ~= "air" and materials.of(options.fill, "box fill") or nil
    local size, thickness = lengths(options.size, "box size"), si(options.wall or "2.5 mm", "m", "box wall")
    check_size(self, options.size, size)
    words.plausible(options.wall, thickness, "m", 50e-6, 50e-3, "box wall")
    self.draft:box {
      size = size,
      wall = thickness,
      wall_conductivity = wall.conductivity,
      wall_density_heat = wall.density_heat,
      emissivity_outside = share(options.emissivity or wall.emissivity, "box emissivity"),
      emissivity_inside = share(options.inner_emissivity or wall.emissivity, "box inner_emissivity"),
      fill_conductivity = fill and fill.conductivity or 0,
      fill_density_heat = fill and fill.density_heat or nil,
      up = up,
      covered = covered,
      cover_conductance = cover and si(cover, "W/(m^2 K)", "cover"),
      air_speed = options.air_speed and si(options.air_speed, "m/s", "air speed"),
      by_field = network == "field",
    }
  end)
end

local board_words = set("low", "high", "copper", "coverage", "conductivity_in", "conductivity_through")

-- Copper of all layers together, m, in a board of that thickness: from half an ounce of one layer, thinned, to
-- eight heavy ones; common practice, no source.  None, 0, is let through.
local function copper_of(value, thickness, what)
  local copper = si(value or 0, "m", what)
  if copper == 0 then return 0 end
  words.plausible(value, copper, "m", 5e-6, 3e-3, what)
  if thickness > 0 and copper >= thickness then
    fail("%s: %s of copper does not fit into a board %.4g mm thick; give all layers together, such as 70 um", what,
      tostring(value), 1e3 * thickness)
  end
  return copper
end

-- A board between two corners; copper = thickness of all copper layers together, coverage 0..1.
function adapter:board(name)
  return named(self, "board", name, function(options)
    known("board " .. name, options, board_words)
    local low, high = lengths(options.low, name .. " low"), lengths(options.high, name .. " high")
    local thickness = math.min(high[1] - low[1], high[2] - low[2], high[3] - low[3])
    if thickness > 8e-3 then
      self.draft:warn(("board %s: its thinnest side is %.4g mm, and boards are 0.2 … 5 mm thick; check low and high")
        :format(name, 1e3 * thickness))
    end
    local copper = copper_of(options.copper, thickness, name .. " copper")
    local coverage = share(options.coverage or 0.5, name .. " coverage")
    local laminate = materials.of("glass epoxy", "board")
    -- Parallel slabs: k = k_laminate + k_copper (copper / thickness) coverage; exact for full sheets.
    local along = laminate.conductivity
      + materials.of("copper", "board").conductivity * copper / thickness * coverage
    self.draft:board {
      name = name, low = low, high = high,
      conductivity_in = options.conductivity_in and si(options.conductivity_in, "W/(m K)", name) or along,
      conductivity_through = options.conductivity_through
        and si(options.conductivity_through, "W/(m K)", name) or laminate.conductivity,
      density_heat = laminate.density_heat,
    }
  end)
end

-- A foil or plate that spreads heat, between two corners; it counts with network = "field" only.
function adapter:spreader(name)
  return named(self, "spreader", name, function(options)
    known("spreader " .. name, options, set("low", "high", "material", "emissivity"))
    local material = materials.of(options.material or "aluminium", "spreader " .. name)
    self.draft:spreader { name = name, low = lengths(options.low, name .. " low"),
      high = lengths(options.high, name .. " high"),
      conductivity = material.conductivity, density_heat = material.density_heat,
      emissivity = share(options.emissivity or material.emissivity, name .. " emissivity") }
  end)
end

local place_words = set("at", "size", "board", "pad", "pad_resistance", "board_resistance")

-- Where a part sits: at = centre of its body, board = name, pad = face a thermal pad leads to.
function adapter:place(item)
  return named(self, "place", item, function(options)
    known("place " .. item, options, place_words)
    if options.pad_resistance and not options.pad then
      fail("place %s: pad_resistance without pad; name the face the pad leads to, such as pad = \"x0\"", item)
    end
    if options.board_resistance and not options.board then
      fail("place %s: board_resistance without board; name the board the part sits on", item)
    end
    self.sized[item] = options.size ~= nil
    self.draft:position(item, {
      centre = lengths(options.at, item .. " at"),
      size = options.size and lengths(options.size, item .. " size"),
      board = options.board and tostring(options.board),
      pad_face = options.pad and face(item .. " pad", options.pad),
      pad_resistance = options.pad_resistance and si(options.pad_resistance, "K/W", item .. " pad"),
      board_resistance = options.board_resistance and si(options.board_resistance, "K/W", item),
    })
  end)
end

function adapter:node(name)
  return named(self, "node", name, function(options)
    known("node " .. name, options, set("capacity"))
    self.draft:node(name, si(options.capacity or 0, "J/K", name .. " capacity"))
  end)
end

local facings = set("vertical", "up", "down")

-- The two nodes that a link joins.
local function ends(what, options)
  if type(options[1]) ~= "string" or type(options[2]) ~= "string" then
    fail("%s: name the two nodes it joins first, such as { \"pfc.switch\", \"ambient\", resistance = \"12 K/W\" }",
      what)
  end
  return options[1], options[2]
end

-- A link by hand: { "pfc.switch", "ambient", resistance = "12 K/W" }, or conductance, or
-- radiation = { emissivity, area }, or natural = { area, length, facing = "vertical"|"up"|"down" }.
function adapter:link(options)
  statement(self, function()
    known("link", options, set(1, 2, "resistance", "conductance", "radiation", "natural"))
    local a, b = ends("link", options)
    if options.resistance then
      self.draft:link(a, b, "fixed", "vertical", 1 / si(options.resistance, "K/W", "link resistance"))
    elseif options.conductance then
      self.draft:link(a, b, "fixed", "vertical", si(options.conductance, "W/K", "link conductance"))
    elseif options.radiation then
      local r = options.radiation
      known("link radiation", r, set("emissivity", "area"))
      self.draft:link(a, b, "radiation", "vertical", share(r.emissivity, "link emissivity"),
        si(r.area, "m^2", "link area"))
    elseif options.natural then
      local n = options.natural
      known("link natural", n, set("area", "length", "facing"))
      local facing = words.one("link natural: facing", n.facing or "vertical", facings, "direction")
      self.draft:link(a, b, "natural", facing, si(n.area, "m^2", "link area"),
        si(n.length, "m", "link length"))
    else
      fail "a link needs a resistance, a conductance, radiation or natural, such as resistance = '12 K/W'"
    end
  end)
end

-- One link in place of those the box's rules made: charger:override { "flyback.switch", "main", resistance = "3 K/W" };
-- conductance = 0 takes the way out.
function adapter:override(options)
  statement(self, function()
    known("override", options, set(1, 2, "resistance", "conductance"))
    local conductance = options.conductance and si(options.conductance, "W/K", "link conductance")
      or options.resistance and 1 / si(options.resistance, "K/W", "link resistance")
    if not conductance then fail "override needs a resistance or a conductance, such as resistance = '3 K/W'" end
    local a, b = ends("override", options)
    self.draft:override(a, b, conductance)
  end)
end

-- ------------------------------------------------------------------- solve --

-- Bodies whose size nobody states count as small ones (core/design/heat_paths.c): a transformer would be a chip.
local function tell_sizes(self)
  local list = {}
  for _, place in ipairs(self.boxed and self.draft:filled() or {}) do
    local item = place[1] .. "." .. place[2]
    if not place.sized and not self.sized[item] then list[#list + 1] = item end
  end
  if #list == 0 then return end
  self.draft:warn(("no size is stated of %s; taken as %s of 5 x 5 x 2 mm: state it in the part file, or where it is "
    .. "placed"):format(table.concat(list, ", "), #list == 1 and "a body" or "bodies"))
end

-- The finished design; every problem of the description is raised at once.
function adapter:finish()
  if not self.design then
    all_closed(self)
    statement(self, function() limits.apply(self.draft, self.limits, self.boxed) end)
    tell_sizes(self)
    self.design = binding.finish(self.draft)
    self.design:keep_profiles(self.profiles)
  end
  return self.design
end

-- Touch limit of the case: charger:touch { material = "plastic", contact = "touch" }; see limits.lua.
function adapter:touch(options)
  statement(self, function()
    known("touch", options, set("material", "contact"))
    limits.check_touch(options)
    self.limits.touch = options
  end)
end

-- Thermal class taken for windings that state none: charger:insulation { assumed = "B" }; false: none.
function adapter:insulation(options)
  statement(self, function()
    known("insulation", options, set("assumed"))
    self.limits.insulation = options
  end)
end

-- How far ratings may be used: charger:derating { voltage = 0.8, temperature = "20 K", ["drain voltage"] = 0.9 }.
function adapter:derating(options)
  statement(self, function()
    limits.check_derating(options)
    self.limits.derating = options
  end)
end

-- Limit of any node by hand: charger:limit { "face z1", "label", temperature = "60 degC" }.
function adapter:limit(options)
  statement(self, function()
    known("limit", options, set(1, 2, "temperature"))
    self.draft:limit(tostring(options[1]), tostring(options[2] or "limit"),
      si(options.temperature, "degC", "limit temperature"))
  end)
end

-- What the adapter has to deliver over time: charger:profile "charge" { { duration = "1 h", load = 1 }, ... };
-- scripts/heatledger/profile.lua tells all of it.
function adapter:profile(name)
  return named(self, "profile", name, function(options) self.profiles[name] = profile.of(options, name) end)
end

-- Follow a profile: charger:warm_up "charge", or a table of steps; the result as in heatledger.warmup/1.
function adapter:warm_up(steps)
  if type(steps) == "string" then
    return self:finish():warm_up(profile.of_options({ name = steps }, self.profiles))
  end
  return self:finish():warm_up(profile.of(steps, "steps"))
end

-- How far a setting may rise before the losses outrun the cooling: charger:critical("load", 2).
function adapter:critical(setting, most)
  return self:finish():critical(setting, most)
end

-- Solve with some settings changed: charger:solve { ["mains.voltage"] = "115 V", load = 0.5 }.  ways = true: the
-- result's heat_paths tell by which nodes or faces each part's heat gets out.
function adapter:solve(settings)
  local texts = {}
  for name, value in ordered(settings or {}) do
    texts[name] = type(value) == "number" and ("%.17g"):format(value) or value
  end
  return self:finish():solve(texts)
end

function adapter:settings()
  return self:finish():settings()
end

-- Efficiency over load at both mains voltages, and the laws:
-- charger:efficiency { settings = { ["ambient.temperature"] = "30 degC" }, nameplate = "100 W" }
function adapter:efficiency(options)
  return efficiency.of(self:finish(), options)
end

-- Each statement is called with a colon, so that it knows its adapter.
for word, method in pairs(adapter) do
  if word:sub(1, 2) ~= "__" then
    adapter[word] = function(self, ...)
      if type(self) ~= "table" or rawget(self, "draft") == nil then
        fail("%s: call it with a colon, as in NAME:%s, not with a dot", word, word)
      end
      return method(self, ...)
    end
  end
end

hl.efficiency_text = efficiency.text

-- How sure the figures are, over the bands of all values; the result as in heatledger.spread/1:
-- hl.spread(charger, { samples = 2000, seed = 1, quantiles = { 5, 50, 95 }, about = { "case hottest" }, totals = 64,
--   settings = { load = 0.5 } })
function hl.spread(subject, options)
  return binding.spread(subject:finish(), options)
end

-- Free values fitted to the readings of a bench file; the result as in heatledger.fit/1:
-- hl.fit(charger, "bench.yaml")
function hl.fit(subject, file)
  return binding.fit(subject:finish(), file)
end

-- Statistics of any Lua function: sample, combine, indices, least_squares, student_quantile; docs/spread-and-fit.md.
hl.statistics = binding.statistics

-- A plan for `heatledger sweep`: sweep.lua and docs/sweeps.md tell more.
hl.sweep = sweep.state

-- What another script beside this one returns, such as its adapter; it finds what follows as its `...`:
-- local full = hl.script("charger.lua", { parts = "others.yaml" })
hl.script = binding.script

hl.quantity = binding.quantity

return hl
