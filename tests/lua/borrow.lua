-- hl.script: the value of a script beside this one, which finds what it is given; each call runs it anew.
local hl = require "heatledger"
local alone = hl.script "supply.lua"
local larger = hl.script("supply.lua", { name = "larger", power = "2.5 W" }, 7)
assert(alone ~= larger and alone:solve().power.input_w == 1)
assert(larger:solve().power.input_w == 2.5 and larger:solve().design == "larger")
assert(select("#", hl.script "supply.lua") == 1, "one value comes back")
local good, problem = pcall(hl.script, "nowhere.lua")
assert(not good and problem:find("nowhere.lua", 1, true) and problem:find("cannot be read", 1, true), problem)
good, problem = pcall(hl.script, "../lua/supply.lua")
assert(good, problem) -- out and in again
good, problem = pcall(hl.script, "/etc/passwd")
assert(not good and problem:find("outside the script's folder", 1, true), problem)
good, problem = pcall(hl.script)
assert(not good and problem:find("string expected", 1, true), problem)
return larger
