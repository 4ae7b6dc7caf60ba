"""The workbench: pages in a browser on this computer, served to this computer only.

``create_app`` builds it around an upload store and a runner; ``serve`` opens it. Importing does nothing.
"""
