-- ends with: 
return (""):rep(1 << 60, ",")
