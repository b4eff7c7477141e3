"""Who is at this screen."""
