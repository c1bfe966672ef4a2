-- holds
assert((""):rep(1 << 60) == "" and (""):rep(1 << 60, "") == "")
return true
