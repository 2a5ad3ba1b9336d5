"""What every room rests on: faults, units, money, files, arrays, the cache, the process pool."""
