-- words: the tables and figures a script hands over, checked; what is wrong is told with the line of the script.

local binding = require "heatledger.binding"

local words = {}

-- Raise a message that begins with the script and the line that called the library.
function words.fail(format, ...)
  error(binding.where() .. format:format(...), 0)
end

-- A message without the place it begins with, be it of the script or of a file of this library.
function words.without_place(message)
  local where = binding.where()
  if message:sub(1, #where) == where then message = message:sub(#where + 1) end
  return (message:gsub("^[^\n]-heatledger/[%w_/]+%.lua:%d+: ", ""))
end

function words.set(...)
  local made = {}
  for _, word in ipairs { ... } do made[word] = true end
  return made
end

-- The words of a set in order; the unnamed ones, 1 and 2, are no words.
function words.list(set)
  local list = {}
  for word in pairs(set) do
    if type(word) == "string" then list[#list + 1] = word end
  end
  table.sort(list)
  return list
end

-- What follows a word that is not known: "; did you mean 'covered'? Known: covered, size", or "; known: ...".
function words.instead(word, list)
  local all = table.concat(list, ", ")
  local near = type(word) == "string" and binding.nearest(word, list)
  return near and ("; did you mean '%s'? Known: %s"):format(near, all) or "; known: " .. all
end

-- One word of a set: words.one("box: up", "z", faces, "face") fails with "box: up: no face 'z'; known: x0, ...".
function words.one(what, word, set, kind)
  if type(word) == "string" and set[word] then return word end
  words.fail("%s: no %s '%s'%s", what, kind, tostring(word), words.instead(word, words.list(set)))
end

-- Refuse what is no table, and keys that mean nothing here, naming the ones that do.
function words.known(what, options, set)
  local list = words.list(set)
  if type(options) ~= "table" then
    words.fail("%s: a table is wanted and this is a %s; write { %s = ... }; known: %s", what,
      type(options) == "nil" and "missing one" or type(options), list[1], table.concat(list, ", "))
  end
  for key in pairs(options) do
    if not set[key] then
      words.fail("%s: '%s' means nothing here%s", what, tostring(key), words.instead(key, list))
    end
  end
end

-- Number in SI from text with a unit, or a plain number taken as SI.
function words.si(value, unit, what)
  if type(value) == "number" then return value end
  if value == nil then words.fail("%s: missing; a figure with its unit is wanted, in %s", what, unit) end
  if type(value) ~= "string" then
    words.fail("%s: this is a %s; text with a unit is wanted, in %s", what, type(value), unit)
  end
  local good, result = pcall(binding.quantity, value, unit)
  if not good then words.fail("%s: %s", what, words.without_place(result)) end
  return result
end

-- Share from 0 to 1: 0.5, or "50 %".
function words.share(value, what)
  local share = words.si(value, "1", what)
  words.plausible(value, share, "1", 0, 1, what)
  return share
end

-- Fail where a figure is outside what can be, with the reading of the same text that would be inside; `value` is
-- what the script wrote, `number` the same in SI.
function words.plausible(value, number, unit, low, high, what)
  local why = binding.implausible(value, number, unit, low, high)
  if why then words.fail("%s: %s", what, why) end
end

-- The same figures of "40 x 62 x 118 cm" in another unit of length that keeps all within low..high, m; nil: none.
local function other_lengths(value, low, high)
  local figures, unit = tostring(value):match "^(.-)%s*(%a+)%s*$"
  for _, other in ipairs { "mm", "cm", "m" } do
    local good, read = pcall(binding.product, ("%s %s"):format(figures, other), "m")
    local fits = good and other ~= unit
    for _, length in ipairs(good and read or {}) do fits = fits and length >= low and length <= high end
    if fits then return ("%s %s"):format(figures, other) end
  end
end

-- One sentence when a length of several, m, is outside low..high; nil: none is.
function words.unlike(value, read, low, high)
  for _, length in ipairs(read) do
    if not (length >= low and length <= high) then
      local other = other_lengths(value, low, high)
      return ("%.4g mm is outside %.4g … %.4g mm; %s"):format(1e3 * length, 1e3 * low, 1e3 * high,
        other and ("did you mean %s?"):format(other) or "check figures and unit")
    end
  end
end

return words
