"""Forms turn what people type into the values that services take. They save nothing."""
