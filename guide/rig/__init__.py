"""A system to practise on."""
