-- ends with: no message
error(coroutine.create(print))
