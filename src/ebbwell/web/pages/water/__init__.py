"""What is known of the water, and the forms for what comes in."""
