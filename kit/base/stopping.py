"""What becomes of a long run that is stopped by hand."""
import sys


def in_notebook():
    """Whether somebody sits at a notebook, who sees a warning and can go on with what is done.

    Only there is half a run kept: elsewhere nobody may see that a whole name holds a part.
    """
    shell = sys.modules.get("IPython") and sys.modules["IPython"].get_ipython()
    return bool(shell and "IPKernelApp" in shell.config)
