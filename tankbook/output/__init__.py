"""Values in, text out: what people read, the JSON that programs read, and the reference pages."""
