"""What the command line, the screens and the rig share: one data folder in use."""
