"""What earlier runs worked out, kept by what it was made from, so that work follows the change."""
