-- Reads gcov -b -t on stdin; prints coverage by file of core and plugins.  Writes untested lines to arg[1], and
-- lines with untested branches to arg[1].branches, the file with most of them first.
local list, branch_list = assert(io.open(arg[1], "w")), assert(io.open(arg[1] .. ".branches", "w"))
local files, file, at = {}, nil, nil
for line in io.lines() do
  local source = line:match("^ +%-: +0:Source:(.*)")
  if source then
    local name = source:match("/(core/.*)$") or source:match("/(plugins/.*)$")
    file = name and not name:find("/include/", 1, true) and name or nil
    if file then files[file] = files[file] or { lines = {}, branches = {}, text = {} } end
    at = nil
  elseif file then
    local count, number, text = line:match("^ *([^:]+): *(%d+):(.*)")
    if count then
      number = tonumber(number)
      at = nil
      if number > 0 and count ~= "-" then
        local f, hit = files[file], not count:find("[#=]")
        f.lines[number] = f.lines[number] or hit
        f.text[number] = text
        at, f.seen = number, 0
      end
    elseif at and line:match("^branch") then
      local f = files[file]
      f.seen = f.seen + 1
      local key = at * 1000 + f.seen
      f.branches[key] = f.branches[key] or (not line:find("never executed") and not line:find("taken 0%%"))
    end
  end
end

local function share(set)
  local hit, all = 0, 0
  for _, ok in pairs(set) do all, hit = all + 1, hit + (ok and 1 or 0) end
  return hit, all
end

-- A branch that only a failing allocation takes: the memory tests make every one of them fail in turn, but not on
-- every way through the program.
local function asks_for_memory(text)
  return text:find("arena_%a+%(") or text:find("%a?alloc%(") or text:find("starved") or text:find("NO_MEMORY")
    or text:find("no_memory") or text:find("_create%(") or text:find("memory ran out")
end

local names, sum, memory = {}, { 0, 0, 0, 0 }, 0
for name in pairs(files) do names[#names + 1] = name end
table.sort(names)
print("   lines         branches       file")
for _, name in ipairs(names) do
  local f = files[name]
  local a, b = share(f.lines)
  local c, d = share(f.branches)
  sum = { sum[1] + a, sum[2] + b, sum[3] + c, sum[4] + d }
  print(("%5.1f %% of %-5d %5.1f %% of %-5d %s"):format(100 * a / math.max(b, 1), b, 100 * c / math.max(d, 1), d, name))
  for key, ok in pairs(f.branches) do
    local text = f.text[key // 1000] .. (f.text[key // 1000 + 1] or "")
    if not ok and asks_for_memory(text) then memory = memory + 1 end
  end
  local missed = {}
  for number, ok in pairs(f.lines) do if not ok then missed[#missed + 1] = number end end
  table.sort(missed)
  for _, number in ipairs(missed) do list:write(("%s:%d:%s\n"):format(name, number, f.text[number])) end
end
list:close()

-- Untested branches of a file, by line: "name:line: untested of all: text".
local function open_branches(name)
  local f, rows, open = files[name], {}, 0
  for key, ok in pairs(f.branches) do
    local number = key // 1000
    local row = rows[number] or { number = number, missed = 0, all = 0 }
    rows[number], row.all = row, row.all + 1
    if not ok then row.missed, open = row.missed + 1, open + 1 end
  end
  local sorted = {}
  for _, row in pairs(rows) do if row.missed > 0 then sorted[#sorted + 1] = row end end
  table.sort(sorted, function(a, b) return a.number < b.number end)
  for i, row in ipairs(sorted) do
    sorted[i] = ("%s:%d: %d of %d:%s\n"):format(name, row.number, row.missed, row.all, f.text[row.number])
  end
  return { name = name, open = open, text = table.concat(sorted) }
end

local open = {}
for i, name in ipairs(names) do open[i] = open_branches(name) end
table.sort(open, function(a, b) return a.open > b.open or a.open == b.open and a.name < b.name end)
for _, f in ipairs(open) do
  if f.open > 0 then branch_list:write(("%s: %d untested\n%s"):format(f.name, f.open, f.text)) end
end
branch_list:close()
local lines, branches = 100 * sum[1] / math.max(sum[2], 1), 100 * sum[3] / math.max(sum[4], 1)
print(("%5.1f %% of %d lines, %.1f %% of %d branches"):format(lines, sum[2], branches, sum[4]))
print(("untested: %d branches, %d of them beside an allocation that would have to fail there"):format(
  sum[4] - sum[3], memory))
os.exit(lines >= 92 and branches >= 85)
