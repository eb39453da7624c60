"""The commands, a module each: ``run(args)`` does what was asked and gives the exit status."""
