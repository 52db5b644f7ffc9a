"""Report: plain tables and text out."""
