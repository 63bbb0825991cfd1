"""Values in, text out: tables, cards, tags, JSON and the generated pages."""
