"""One procedure worked on one appliance: events, state and the walk."""
