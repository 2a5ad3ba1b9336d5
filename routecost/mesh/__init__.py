"""What a mesh is: reading, soundness, and the measures that cost money. Nothing here knows a price."""
