"""What is measured on a sound mesh: one file a question, numbers for answers."""
