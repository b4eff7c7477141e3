"""The pages, one folder each: its routes, its template, and its own small script where it needs one."""
