-- ends with: took more than
while true do end
