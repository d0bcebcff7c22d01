"""What is to be done: the model of a procedure, its reader, its checker, its paper copy."""
