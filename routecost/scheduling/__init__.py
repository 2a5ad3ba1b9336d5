"""When it is done: tasks on a calendar of own hours, machines, waits and deliveries."""
