"""What else there is: cheaper, sooner or likelier plans, and why nothing fits."""
