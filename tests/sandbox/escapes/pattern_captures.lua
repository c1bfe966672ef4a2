-- ends with: too many captures
return ("x"):match(("()"):rep(40))
