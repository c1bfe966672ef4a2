-- ends with: memory
return ("x"):rep(1 << 30)
