"""Finding, reading, splicing and locking files: the only room that touches the disk."""
