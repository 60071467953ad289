"""Practice variants: rhythms, bowings and tempo, made from an excerpt."""
