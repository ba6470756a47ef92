"""The archive's own window beside the main one; nothing of it loads before it is first opened."""
