"""What happened, unalterable: events, tree, checkpoints, keys and the store on disk."""
