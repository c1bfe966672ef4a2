-- ends with: took more than
return ("a"):rep(3000):match((".*"):rep(10) .. "b")
