"""From a measured record to a signed PDF that carries its own proof."""
