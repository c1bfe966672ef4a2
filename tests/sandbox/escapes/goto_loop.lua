-- ends with: took more than
::a:: goto a
