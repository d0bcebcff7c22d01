"""What the technician sees."""
