"""What the start window needs beside the use cases of the commands."""
