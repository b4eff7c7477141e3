"""Draw: charts as SVG text, for pages and papers. Pure functions over plain values; no file, no library."""
