"""What the shop owns, knows and pays: tables, materials, machines, time standards, prices."""
