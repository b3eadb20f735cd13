"""`python -m pullstring` is the same as `pullstring`."""

from pullstring.cli import main

main()
