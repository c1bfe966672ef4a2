-- ends with: took more than
return ("a"):rep(100):find((".-"):rep(20) .. "b")
