-- ends with: took more than
for _ in ("a"):rep(3000):gmatch((".*"):rep(8) .. "b") do end
