-- report.unsolved: samples over the bands that have no solution.

local number = require "heatledger.report.number"

local unsolved = {}

-- Why a sample has no solution, in few words.
local function short_reason(entry)
  local head = entry.reason:match "^[^:]*"
  return entry.status == "runaway" and head:gsub("^thermal ", "") or "not feasible: " .. head
end

-- Of the samples over the bands those that have no solution: their share, why most of them have none, how many they
-- are.  nil when all have one, or none were drawn.
function unsolved.share(spread)
  local missing = spread and spread.samples - spread.solved or 0
  if missing == 0 then return nil end
  local count, most = {}, nil
  for _, entry in ipairs(spread.unsolved) do
    local why = short_reason(entry)
    count[why] = (count[why] or 0) + entry.count
    if not most or count[why] > count[most] then most = why end
  end
  local why = count[most] < missing and ("%s (%d of %d)"):format(most, count[most], missing) or most
  return number.percent(spread.unsolved_share, spread.unsolved_share < 0.1 and 1 or 0), why, missing
end

-- In the place of a percentile that lies among the samples without a solution.
function unsolved.word(spread)
  for _, entry in ipairs(spread.unsolved) do
    if entry.status ~= "runaway" then return "no solution" end
  end
  return "run-away"
end

return unsolved
