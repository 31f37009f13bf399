"""One step a file, in their order."""
