"""Figures: one function each; takes results, returns a matplotlib Figure; nothing is computed or judged here.

They are gathered here from the files of their subjects; how the page looks, and how it is saved, stands in `page.py`.
"""
# ruff: noqa: F401 (whatever is imported is to be had from here)
from kit.publish.bench_figures import compared, learnt, success
from kit.publish.critical_figures import critical, moved
from kit.publish.page import FORMATS, WIDTHS, png, save
from kit.publish.part_figures import nest, traces
from kit.publish.quantity_figures import over, plan, removal, torque_by_tool
from kit.publish.reach_figures import reached, to_measure
from kit.publish.score_figures import scored
from kit.publish.sensitivity_figures import indices, tornado
from kit.publish.sweep_figures import chance_map, chances, margin_band
from kit.publish.trace_figure import trace
from kit.publish.verdict_figures import against, margins
