-- The parts of a file, and the starter catalogue, as tables of parts.
--
--   local hl = require "heatledger"
--   local part = hl.catalogue()                      -- every part of the starter catalogue
--   local switch = hl.catalogue "switches"           -- or of one of its files
--   for name, item in pairs(switch) do print(name, item:model(), item:values().on_resistance) end
--   local small = hl.catalogue("switches", function(known)
--     return known.model == "gan_transistor" and known.values.on_resistance < 0.2
--   end)
--
-- A part is the same thing that hl.parts gives: put it into a slot by its name, part.gan_650v_150m_a.

local binding = require "heatledger.binding"
local words = require "heatledger.words"

local catalogue = { files = { "switches", "diodes", "capacitors", "magnetics", "resistors" } }

local most_told = 40 -- names: more would hide what is wrong

local function unknown(name, near, names)
  local rest = near and ("; did you mean '%s'?"):format(near)
    or #names > 0 and #names <= most_told and "; known: " .. table.concat(names, ", ") or ""
  return ("no part is named '%s'%s"):format(name, rest)
end

-- A table whose fields are the parts of `read`; pairs() goes through them in the order of their names.
-- `names`: only these, a set; nil: all.
function catalogue.view(read, names)
  local function find(name)
    if names and not names[name] then return nil end
    return read:part(name)
  end
  return setmetatable({ catalogue = read }, {
    __index = function(_, name)
      local part = find(name)
      if part then return part end
      local _, near = read:part(name)
      words.fail("%s", unknown(name, type(near) == "string" and near or nil, read:names()))
    end,
    __pairs = function()
      local list, i = read:names(), 0
      return function()
        repeat i = i + 1 until list[i] == nil or find(list[i])
        if list[i] then return list[i], find(list[i]) end
      end
    end,
  })
end

-- The parts of one view, those of another standing for parts of the same name.
function catalogue.over(below, above)
  return setmetatable({ catalogue = below.catalogue, above = above }, {
    __index = function(_, name)
      local part = above.catalogue:part(name)
      return part or below[name]
    end,
    __pairs = function()
      local follow = pairs(below)
      return function()
        local name, part = follow()
        if name then return name, above.catalogue:part(name) or part end
      end
    end,
  })
end

-- What a condition is asked about: name, family, model, description, and values in SI by name.
local function known(part)
  return {
    name = part:name(), family = part:family(), model = part:model(),
    description = part:description(), values = part:values(),
  }
end

-- Those parts of a view (of hl.parts or hl.catalogue) for which condition(known) is true.
function catalogue.matching(parts, condition)
  local names = {}
  for name, part in pairs(parts) do
    if condition(known(part)) then names[name] = true end
  end
  return catalogue.view(parts.catalogue, names)
end

-- The starter catalogue: all files, or those named; with a condition only the parts that meet it.
function catalogue.open(files, condition)
  if type(files) == "function" then files, condition = nil, files end
  if type(files) == "string" then files = { files } end
  local read, is_file = binding.catalogue(), {}
  for _, name in ipairs(catalogue.files) do is_file[name] = true end
  for _, name in ipairs(files or catalogue.files) do
    if not is_file[name] then
      words.fail("the starter catalogue has no '%s'%s", tostring(name), words.instead(name, catalogue.files))
    end
    read:read_library(name)
  end
  local view = catalogue.view(read)
  return condition and catalogue.matching(view, condition) or view
end

return catalogue
