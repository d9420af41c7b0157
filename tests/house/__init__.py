"""The rules that the tree itself keeps."""
