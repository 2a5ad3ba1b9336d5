"""From a mesh file to a sound mesh in millimetres, or one clear error."""
