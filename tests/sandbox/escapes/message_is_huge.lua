-- ends with: xxxx
error(("x"):rep(1 << 20), 0)
