"""`python -m torquerisk`: the same as the command `torquerisk`."""

from torquerisk.command.verbs import main

if __name__ == "__main__":
    main()
