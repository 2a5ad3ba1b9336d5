"""The commands, a module for each kind. `routecost.cli` imports only the module of the command that is run."""
