-- ends with: took more than
table.move({}, 1, 1 << 60, 2)
