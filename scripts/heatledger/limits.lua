-- limits: touch temperatures, insulation classes and the user's derating policy, and a judgement of a result.
--
--   charger:touch { material = "plastic", contact = "touch" }      -- the default, but "metal" of a metal case;
--                                                                  -- contact = "none": no limit
--   charger:insulation { assumed = "B" }                           -- for windings that state no class; false: none
--   charger:derating { voltage = 0.8, temperature = "20 K", ["drain voltage"] = 0.9 }
--   print(hl.limits.text(hl.limits.judge(charger:solve())))

local binding = require "heatledger.binding"
local headroom = require "heatledger.headroom"
local touch_data = require "heatledger.limits.touch_iec_62368_1"
local insulation_data = require "heatledger.limits.insulation_iec_60085"

local limits = { touch = touch_data, insulation = insulation_data }

local kelvin, usual_contact = 273.15, touch_data.usual_contact

local words = require "heatledger.words"
local fail = words.fail

local function contact_of(name)
  local names = {}
  for k, contact in ipairs(touch_data.contacts) do
    if contact.name == name then return contact end
    names[k] = contact.name
  end
  names[#names + 1] = "none"
  fail("touch: no contact '%s'%s", tostring(name), words.instead(name, names))
end

-- Limit of the case by material and contact, degC, and its name in the headroom.
function limits.touch_of(material, name)
  local contact = contact_of(name)
  if not contact[material] then
    fail("touch: no material '%s'%s", tostring(material), words.instead(material, touch_data.materials))
  end
  -- "touch, plastic"; with another contact than the usual one, "touch, plastic, held"
  local how = name == usual_contact and "" or ", " .. name
  return contact[material], "touch, " .. material .. how
end

-- What charger:touch says, before anything is made of it.
function limits.check_touch(options)
  if options.contact ~= "none" then limits.touch_of(options.material or "plastic", options.contact or usual_contact) end
end

local kinds = { "current", "power", "temperature", "voltage" }

-- What charger:derating says: a kind of limit misspelt would derate nothing, and any other word may name a limit.
function limits.check_derating(options)
  if type(options) ~= "table" then fail "derating: a table is wanted, such as { voltage = 0.8 }" end
  for limit in pairs(options) do
    local near = type(limit) == "string" and binding.nearest(limit, kinds)
    if near and near ~= limit then
      fail("derating: no kind of limit '%s'; did you mean '%s'? A single limit is named as solve does, such as "
        .. "[\"drain voltage\"]", limit, near)
    end
  end
end

-- What the adapter said about touch, insulation and derating, into its draft; `feels` = what its case is to a hand,
-- metal or plastic, nil without one.
function limits.apply(draft, said, feels)
  local touch = said.touch or {}
  local name = touch.contact or usual_contact
  if name ~= "none" and feels then
    local celsius, text = limits.touch_of(touch.material or feels, name)
    draft:limit(nil, text, celsius + kelvin)
  end
  local assumed = insulation_data.assumed
  if said.insulation then assumed = said.insulation.assumed end
  local classes = {}
  for k, class in ipairs(insulation_data.classes) do classes[k] = { class[1], class[2] + kelvin, class[3] + kelvin } end
  draft:insulation(classes, assumed or nil)
  for limit, value in pairs(said.derating or {}) do
    if type(value) == "string" and value:find "K%s*$" then
      draft:derating(limit, 1, binding.quantity(value, "K"))
    elseif type(value) == "number" or type(value) == "string" then
      draft:derating(limit, type(value) == "number" and value or binding.quantity(value, "1"), 0)
    else
      fail("derating of '%s': a share of the rating such as 0.8, or kelvins such as \"20 K\"", tostring(limit))
    end
  end
end

-- What a result says about every limit: { broken = n, judged = n, entries = { { who, limit, value, rated, unit,
-- used, broken } , ... } } in order of use.
function limits.judge(result)
  local verdict = { broken = 0, judged = 0, entries = {}, status = result.status, reason = result.reason }
  local function add(who, list)
    for _, h in ipairs(list or {}) do
      local used = h.used or math.huge
      verdict.judged = verdict.judged + 1
      if used > 1 then verdict.broken = verdict.broken + 1 end
      table.insert(verdict.entries, { who = who, limit = h.limit, value = h.value, rated = h.rated, unit = h.unit,
        used = used, broken = used > 1 })
    end
  end
  for _, part in ipairs(result.parts or {}) do add(part.stage .. "." .. part.slot, part.headroom) end
  for _, node in ipairs(result.nodes or {}) do add(node.node, node.headroom) end
  for _, stage in ipairs(result.stages or {}) do add(stage.stage, stage.headroom) end
  table.sort(verdict.entries, function(a, b)
    if a.used ~= b.used then return a.used > b.used end
    if a.who ~= b.who then return a.who < b.who end
    return a.limit < b.limit
  end)
  return verdict
end

limits.caution = "This compares computed figures with limits whose tables are partly from memory. It is no\n"
  .. "certificate and replaces neither measurement nor an assessment by a qualified body."

-- The judgement in words, at most `most` entries.
function limits.text(verdict, most)
  local lines = {}
  if verdict.status ~= "solved" then
    lines[1] = ("no judgement: %s"):format(verdict.reason ~= "" and verdict.reason or tostring(verdict.status))
  else
    lines[1] = verdict.broken == 0 and ("no limit of %d is broken"):format(verdict.judged)
      or ("%d of %d limits broken"):format(verdict.broken, verdict.judged)
    for k = 1, math.min(#verdict.entries, most or 10) do
      local e = verdict.entries[k]
      lines[#lines + 1] = ("  %-30s %-30s %10.4g of %10.4g %-5s %4.0f %%%s"):format(e.who, e.limit, e.value, e.rated,
        e.unit, 100 * headroom.told(e.used), e.broken and " !" or "")
    end
  end
  lines[#lines + 1] = limits.caution
  return table.concat(lines, "\n")
end

return limits
