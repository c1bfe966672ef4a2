-- ends with: pattern too complex
return ("x"):rep(300):match(("x?"):rep(300))
