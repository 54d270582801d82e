"""The usual cautions, each at the steps where it applies; at most three a step.

They defer to the maker's data, local code and licensed practice and grant nothing.
Source: common practice; those that name a standard or rule name it.
"""

from libexchange.plan.records import Caution, Plan, StepKind

TEXTS = {
    "maker-procedure": "Follow the vehicle maker's procedure and local law; trained people only.",
    "high-voltage": "Orange cables carry dangerous voltage and the vehicle may start by itself: "
    "a person qualified for high voltage only, by the maker's procedure.",
    "lifting": "Use a rated lift, the maker's lifting points and locks; never work under a jack. "
    "Nobody inside while raising or lowering.",
    "self-levelling": "Switch off self-levelling suspension before lifting, as the maker says.",
    "hot-fluid": "Hot fluid and parts burn: check the temperature, wear gloves, face shield and "
    "sleeves.",
    "fill-opening-first": "Prove that the fill opening loosens before any drain is opened.",
    "right-plug": "Engine, final drive and transfer drains look alike: check the plug map and the "
    "first fluid that comes; where it is another one, do not start.",
    "used-oil-skin": "Used fluid: gloves, goggles when looking up, wash skin, no oily rags in "
    "pockets.",
    "used-oil-vessel": "Catch every litre in a closed, marked vessel; keep it apart from coolant, "
    "brake fluid and solvents; nothing into drains or soil.",
    "do-not-start": "Tag on wheel and key: do not start from draining until refilled.",
    "lines-under-pressure": "Engine off and pressure relieved before a line is opened; a jet can "
    "pierce skin: hospital at once.",
    "direction-unproven": "Which line is the feed cannot be told from its place: use maker data, "
    "a short flow test or both temperatures.",
    "wheels-turn": "Wheels may turn: brake, chocks, clear area; nobody underneath while the "
    "selector moves.",
    "exhaust-gas": "Extraction on before the engine starts; keep idling short.",
    "rotating-parts": "Keep hair, sleeves and hoses clear of fans, belts and shafts.",
    "stop-within-reach": "A second person at the key, or a tested stop within reach that cuts "
    "engine and feed.",
    "no-flow": "No flow within 10 s, rising pressure or air in the stream: engine and feed off.",
    "bypass-closes": "Below the opening temperature or with falling flow: feed and engine off, "
    "reconnect, reheat.",
    "lubrication-starves": "The return line feeds the lubrication and nothing returns while a "
    "batch is pumped out: at most 2 L and 30 s; air in the stream means engine off at once.",
    "fire": "Fluid on hot exhaust burns: wipe it off, extinguisher at hand, no smoking.",
    "chemical": "Read the safety data sheet of the additive first: gloves, goggles, fresh air.",
    "idle-only": "Idle only: nobody drives while the cleaner is in; it is out within 30 min.",
    "no-hand-over": "No hand-over before level and leak check have passed.",
    "slippery-floor": "Keep absorbent ready; wipe spills at once.",
    "wheels-and-exhaust": "Brake, chocks, clear area: wheels may turn, nobody underneath while the "
    "selector moves. Extraction on before the engine starts; keep idling short.",
    "shafts-and-exhaust": "Keep hair, sleeves and hoses clear of fans, belts and shafts. "
    "Extraction on before the engine starts; keep idling short.",
    "right-plug-and-skin": "Engine, final drive and transfer drains look alike: check the plug map "
    "and the first fluid that comes; where it is another one, do not start. Used fluid: gloves, "
    "goggles when looking up, wash skin, no oily rags in pockets.",
    "used-oil": "Used fluid: gloves, goggles when looking up, wash skin, no oily rags in pockets. "
    "Catch every litre in a closed, marked vessel; nothing into drains or soil.",
    "lines": "Engine off and pressure relieved before a line is opened; a jet can pierce skin: "
    "hospital at once. Which line is the feed: maker data, a short flow test or both temperatures.",
    "stop-without-flow": "A second person at the key, or a tested stop within reach: engine and "
    "feed off at no flow within 10 s, rising pressure or air in the stream.",
    "hot-and-raised": "Hot fluid and parts burn: gloves, face shield, sleeves. A rated lift and "
    "its locks; never under a jack; nobody inside while raising or lowering.",
    "hot-used-oil": "Hot used fluid burns and harms the skin: check the temperature; gloves, face "
    "shield, sleeves; wash skin, no oily rags in pockets.",
    "hot-lines": "Hot fluid burns, and a jet can pierce skin (hospital at once): engine off, "
    "pressure relieved, gloves, face shield and sleeves.",
}  # fmt: skip
"""Every caution by code."""

HIGH_VOLTAGE = "high-voltage"
"""The caution of a step that only a qualified person acknowledges."""

MOST = 3
"""So many cautions at a step are read; more are not (common practice)."""

AT_STEP: dict[StepKind, tuple[str, ...]] = {
    "arrival_check": ("maker-procedure",),
    "raise_vehicle": ("lifting", "self-levelling"),
    "connect_lines": ("hot-fluid", "lines-under-pressure", "direction-unproven"),
    "warm_up": ("wheels-turn", "exhaust-gas", "rotating-parts"),
    "prove_fill_opening": ("fill-opening-first", "do-not-start", "hot-fluid"),
    "dose_cleaner": ("chemical", "hot-fluid"),
    "cleaner_contact": ("idle-only", "wheels-turn", "exhaust-gas"),
    "dose_conditioner": ("chemical",),
    "drain": ("hot-fluid", "right-plug", "used-oil-skin"),
    "suction": ("hot-fluid", "used-oil-skin", "used-oil-vessel"),
    "pan_and_filter": ("hot-fluid", "right-plug", "used-oil-skin"),
    "refill": ("do-not-start", "slippery-floor"),
    "mix": ("wheels-turn", "exhaust-gas", "rotating-parts"),
    "line_exchange": ("stop-within-reach", "no-flow", "bypass-closes"),
    "line_batch": ("stop-within-reach", "no-flow", "lubrication-starves"),
    "cool_down": (),
    "disconnect_lines": ("hot-fluid", "lines-under-pressure"),
    "level_before_drive": ("hot-fluid", "wheels-turn", "exhaust-gas"),
    "set_level": ("hot-fluid", "wheels-turn", "exhaust-gas"),
    "leak_check": ("fire", "rotating-parts", "exhaust-gas"),
    "test_drive": (),
    "hold": ("no-hand-over", "used-oil-vessel"),
    "hand_over": ("no-hand-over", "used-oil-vessel"),
}
"""Which cautions stand at which step."""

JOINED: dict[tuple[str, str], str] = {
    ("wheels-turn", "exhaust-gas"): "wheels-and-exhaust",
    ("rotating-parts", "exhaust-gas"): "shafts-and-exhaust",
    ("right-plug", "used-oil-skin"): "right-plug-and-skin",
    ("used-oil-skin", "used-oil-vessel"): "used-oil",
    ("lines-under-pressure", "direction-unproven"): "lines",
    ("stop-within-reach", "no-flow"): "stop-without-flow",
    ("hot-fluid", "lifting"): "hot-and-raised",
    ("hot-fluid", "used-oil-skin"): "hot-used-oil",
    ("hot-fluid", "lines-under-pressure"): "hot-lines",
}
"""Two cautions in one, so that that of high voltage is the third and none is left out."""

NO_HIGH_VOLTAGE: frozenset[StepKind] = frozenset(
    {
        "prove_fill_opening", "dose_cleaner", "dose_conditioner", "cool_down", "hold", "hand_over",
    }
)  # fmt: skip
"""Steps that neither start, open nor lift anything beyond what the step beside them does."""


def cautions_at(kind: StepKind, *, high_voltage: bool) -> tuple[Caution, ...]:
    """The cautions of a step; a vehicle with high voltage adds its own where it may start.

    >>> [caution.code for caution in cautions_at("arrival_check", high_voltage=True)]
    ['maker-procedure', 'high-voltage']
    """
    return with_texts(AT_STEP[kind], high_voltage=high_voltage and kind not in NO_HIGH_VOLTAGE)


def with_texts(codes: tuple[str, ...], *, high_voltage: bool) -> tuple[Caution, ...]:
    """Up to three cautions in words; that of high voltage is the third and leaves none out.

    >>> [one.code for one in with_texts(("fire", "hot-fluid", "lifting"), high_voltage=True)]
    ['fire', 'hot-and-raised', 'high-voltage']
    """
    told = (*_at_most_two(codes), HIGH_VOLTAGE) if high_voltage else codes
    return tuple(Caution(code=code, text=TEXTS[code]) for code in told)


def _at_most_two(codes: tuple[str, ...]) -> tuple[str, ...]:
    """Two of three cautions joined into one, where there are three."""
    for pair, one in JOINED.items():
        if len(codes) > MOST - 1 and set(pair) <= set(codes):
            codes = (*(code for code in codes if code not in pair), one)
    return codes


def carries_high_voltage(plan: Plan) -> bool:
    """Whether a step of a plan cautions against it.

    >>> from libexchange.invented import routine_plan
    >>> carries_high_voltage(routine_plan())
    False
    """
    return any(one.code == HIGH_VOLTAGE for step in plan.steps for one in step.cautions)
