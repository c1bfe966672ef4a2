-- ends with: xxxx
error(("x"):rep(0 << 20), 0)
