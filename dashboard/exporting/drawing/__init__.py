"""Pictures as SVG, drawn without a browser: values in, text out. Each stands alone and prints in grey."""
