-- ends with: 
return load(("("):rep(100000))()
