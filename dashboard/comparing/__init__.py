"""The figures of a class beside each other: values in, values out; no files, no screens."""
