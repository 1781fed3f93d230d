"""A study worked out for print: its verdict, and what else a write-up asks of it, each once."""
import os
from dataclasses import dataclass, field, replace
from functools import cached_property

from kit import __version__
from kit.base import references, tables, words
from kit.base.evidence import PLAIN_SOURCES
from kit.estimates import score
from kit.publish import citing, claims, wording
from kit.study import bench, kept, routes, skill
from kit.study.studyfile import StudyError
from kit.study.worlds import INNER

AT_THE_BENCH = 2**14   # draws at most, on which the four ways and the settled values are taken: each costs a verdict
RIVAL_DRAWS = 2**12   # of each route at most, set beside the others
KITS = "assumption of the kit's tables"


def sources_of(study):
    """BibTeX files, the study's own last: it stands before the reference tables'."""
    own = study.folder / "sources.bib"
    return (tables.REFERENCE / "sources.bib", *([own] if own.exists() else []))


def source_said(study, key, source, cited):
    """What the source of an assumption is called in print. cited: {source: how it is cited}."""
    return KITS if source == "assumption" and key.partition("@")[0] not in study.rows else cited[source]


def cited_trace(trace, study):
    """A Trace whose sources are told as print cites them: 'Bourne 1856', 'from memory, not looked up'."""
    cited = references.citations([ground.source for ground in trace.assumptions], *sources_of(study))
    return replace(trace, assumptions=tuple(replace(ground, source=source_said(study, ground.key, ground.source, cited))
                                            for ground in trace.assumptions))


@dataclass(frozen=True)
class WorkedOut:
    """A study worked out for print: its verdict, and what else is asked of it, each once. draws, seed: of the verdict.
    words: {name: text} of the author's that stand before those in `wording.toml`. progress: as Study.assess."""
    study: object
    draws: int = 2**17
    seed: int = 1
    words: dict = field(default_factory=dict)
    progress: object = None

    def __post_init__(self):
        self.__dict__["of"] = wording.basis(self.study)   # the study and its files as they are now

    @property
    def stale(self):
        """Whether a file of the study has changed since: a log that was written on, say."""
        return self.of != wording.basis(self.study)

    def with_words(self, words):
        """The same with other words of the author's: nothing is worked out again."""
        other = replace(self, words=words)
        other.__dict__.update({name: value for name, value in vars(self).items() if name not in ("words", "wording")})
        return other

    @cached_property
    def log(self):
        """The bench log of the study's folder; None where there is none, or no row in it."""
        path = self.study.folder / "bench_log.csv"
        log = bench.read(path) if path.exists() else None
        return log if log and (log.rows or log.faults) else None

    @cached_property
    def verdict(self):
        return self.study.assess(self.draws, self.seed, progress=self.progress)

    @cached_property
    def at_the_bench(self):
        """The verdict, or one of fewer draws where it has very many: for what a maker settles, and the ways to settle
        it."""
        if self.draws <= AT_THE_BENCH:
            return self.verdict
        return self.study.assess(AT_THE_BENCH, self.seed)

    @cached_property
    def verdict_table(self):
        """The verdict's table, with the label beside the key of what moves a margin most, and the ends of the chance's
        band."""
        table, labels = self.verdict.table.copy(), self.study.labels
        ends = self.verdict.worlds.lines
        for after, name in enumerate(("chance_world_5", "chance_world_95")):
            table.insert(table.columns.get_loc("chance") + 1 + after, name,
                         [ends[row.tube, row.criterion][after] for row in table.itertuples()])
        table.insert(table.columns.get_loc("carried_by") + 1, "assumption",
                     [labels.get(key, "") for key in table["carried_by"]])
        return table

    @cached_property
    def strength(self):
        return claims.strength(self.verdict, self.log)

    @cached_property
    def trace(self):
        """Where the limiting number comes from."""
        return cited_trace(self.verdict.trace(self.verdict.limiting, self.verdict.limiting_line.tube), self.study)

    @cached_property
    def sources(self):
        return sources_of(self.study)

    @cached_property
    def cited(self):
        """{source: how it is cited} of all that the verdict, the record and the outside checks rest on."""
        keys = [*self.register["source"], *(s["source"] for s in self.study.record.get("support", ())),
                *(reading.source for reading in self.score.readings)]
        return references.citations(keys, *self.sources)

    @cached_property
    def score(self):
        """How the kit's intervals fare beside what others measured: the same for every study."""
        return score.score()

    @cached_property
    def citing(self):
        """The works that are cited, and the style that the record asks for."""
        labels = {said: source for source, said in self.cited.items() if source not in PLAIN_SOURCES}
        return citing.citing(labels, *self.sources, style=citing.in_folder(self.study, "csl"))

    @cached_property
    def register(self):
        """The assumptions that some criterion asked for."""
        return self.study.register.loc[sorted(self.verdict.asked)]

    @cached_property
    def sweep(self):
        """Chances over the wall, from a quarter to twice what is planned, with the band of all together."""
        sleeves = [t for t in self.study.tubes if t.position is not None]
        if sleeves:
            tube = sleeves[0]
        else:   # asked only here: at many draws the verdict takes long
            limiting = [t for t in self.study.tubes if self.verdict.limiting_line.tube in
                        (t.name, t.shaft and t.shaft.name)]
            tube = [*limiting, *self.study.tubes][0]
        key = "wall" if sleeves else f"{tube.name}.wall"
        values = []
        for share in (0.25, 0.35, 0.5, 0.625, 0.75, 0.875, 1, 1.25, 1.5, 2):
            try:
                changed = self.study.with_(**{key: share * tube.wall})
                [changed.steps(each) for each in changed.tubes]
            except StudyError:   # so thin that nothing is left of it, or thicker than the sheet that is wrapped
                continue
            values.append(share * tube.wall)
        draws = min(2**12, self.draws)   # of a quick look no more than it asks for
        table = self.study.sweep(key, values, draws, self.seed, worlds=min(INNER, int(draws**0.5)))
        table.attrs |= {"now": tube.wall.m_as("mm"), "said": f"the wall of {'every sleeve' if sleeves else tube.said}"}
        table.attrs["label"] = f"{table.attrs['said']} / mm"
        return table

    @cached_property
    def tornado(self):
        return self.study.sensitivity("tornado")

    @cached_property
    def compared(self):
        """The log set beside the study; None where it measures nothing that the study predicts."""
        try:
            return self.log.compare(self.study, seed=self.seed) if self.log else None
        except bench.NothingMeasured:
            return None

    @cached_property
    def skills(self):
        """What the log shows of skill."""
        return skill.skills(self.log) if self.log else ()

    @cached_property
    def photographs(self):
        """Photographs filed with trials."""
        return skill.photographs(self.study.folder, self.log)

    @cached_property
    def reach(self):
        """What to change, as `python -m kit reach --keep` left it; None where it was not asked, or the study has
        changed since."""
        return kept.kept(self.study, "reach")

    @cached_property
    def next_trials(self):
        """What to measure next, as `python -m kit next --keep` left it."""
        return kept.kept(self.study, "next_trials")

    @cached_property
    def rivals(self):
        named = self.study.record.get("rivals", ())
        n = min(RIVAL_DRAWS, self.draws)   # of a quick look no more than it asks for
        return routes.compare([(self.own_route, self.study), *named], n=n, seed=self.seed) if named else None

    @cached_property
    def own_route(self):
        """What the study's own way of making it is called among its rivals."""
        return routes.own_route(self.study)

    @cached_property
    def weak(self):
        """What a reviewer will ask about; places without the folder, which may move."""
        return [claims.Weakness(self.without_folder(w.place), self.without_folder(w.what), w.remedy)
                for w in claims.weaknesses(self.verdict, self.log)]

    def without_folder(self, text):
        """Text without the name of the study's folder, which may move."""
        return text.replace(f"{self.study.folder}{os.sep}", "")

    @property
    def made_of(self):
        """n, seed, inputs and version, as every caption says them."""
        return f"{self.verdict.drawn}, inputs {self.verdict.provenance['inputs']}, kit {__version__}"

    @property
    def worlds_of(self):
        """Number of worlds and of draws in each, of the band."""
        band = self.verdict.worlds
        return f"{words.count(len(band.chances))} worlds of {words.counted(band.inner, 'draw')}, seed {band.seed}"

    @cached_property
    def wording(self):
        """{name: {text, of}}: what the author has put into words of their own."""
        own = {name: {"text": text} for name, text in self.words.items() if text.strip()}
        return wording.kept(self.study) | own

    def worded(self, name, generated):
        """The author's own words of that name, else the generated ones."""
        return self.wording.get(name, {}).get("text", "").strip() or generated

    @property
    def outdated(self):
        """Names of the texts that were put into own words before the study or its log last changed."""
        return [name for name, entry in self.wording.items()
                if entry.get("of") not in (None, wording.basis(self.study))]
