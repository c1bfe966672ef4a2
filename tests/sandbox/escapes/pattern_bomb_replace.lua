-- ends with: took more than
return ("a"):rep(3000):gsub((".*"):rep(8) .. "b", "")
