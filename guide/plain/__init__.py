"""The same work as a linear prompt: for screen readers and for terminals that can't paint."""
