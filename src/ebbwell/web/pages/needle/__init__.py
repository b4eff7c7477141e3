"""What a needle that is out costs in blood, and why the pressure may not tell."""
