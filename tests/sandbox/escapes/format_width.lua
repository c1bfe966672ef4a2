-- holds
assert(not pcall(string.format, "%99999999d", 1))
assert(not pcall(string.format, "%.99999999f", 1))
assert(#string.format("%99.99f", 1e308) > 300)
return true
