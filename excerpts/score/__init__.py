"""Reading score files safely, finding bars in them, cutting them out."""
