"""Routes: steps and tools, the reamers a nest needs, the lathe a bore needs, and the rival ways of making the part."""
from kit.operations.chain import OPERATIONS, expand  # noqa: F401 (what is known as kit.routes, gathered)
from kit.operations.means import bow_torque, centre_torque, model_factors, reference_draws, wrench_torque  # noqa: F401
from kit.operations.reamers import lathe_for, reamer_set, torques  # noqa: F401
from kit.operations.steps import DRIVES, Step, diameter_of  # noqa: F401
from kit.operations.tools import SHANKS, Passes, Tool, least_chip  # noqa: F401
from kit.study.rivals import check_order, compare, own_route, plan_of, rival, steps_for_reading, traces_left  # noqa: F401
