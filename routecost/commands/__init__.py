"""The commands, a file for each kind. Each imports what it needs when it runs, so that help is instant."""
