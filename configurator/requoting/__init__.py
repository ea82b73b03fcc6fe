"""All open quotes, priced and checked anew when the catalogue has changed."""
