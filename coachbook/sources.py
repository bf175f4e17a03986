"""The statistical methods and published sources behind the pages of progress, findings and test results.

Each entry says in one sentence what it is used for and in one what limits it; `code` is where it stands in the program.
"""

from typing import NamedTuple


class Source(NamedTuple):
    """One method or source as the page shows it, and the dotted name of the function or value that uses it."""

    name: str
    purpose: str
    limits: str
    citation: str
    code: str


class SourceGroup(NamedTuple):
    """The sources of one kind of page."""

    title: str
    sources: tuple[Source, ...]


SHARES = SourceGroup(
    "Shares and their differences",
    (
        Source(
            "Wilson score interval",
            "How far a share such as 5 of 12 may be off: the 95% interval of a share.",
            "Some true shares are missed a little more often than 5 times in 100, most of all near none and all.",
            "Wilson (1927), J. Am. Stat. Assoc. 22, 209-212; method 3 of Newcombe (1998), Stat. Med. 17, 857-872.",
            "lessons.progress.intervals.wilson",
        ),
        Source(
            "Clopper-Pearson upper bound",
            "Whether a fault is seen seldom enough to be called holding or ready to close.",
            "It takes each arrival by itself; in streaks, and read again and again, it says so by luck more often.",
            "Clopper & Pearson (1934), Biometrika 26, 404-413.",
            "lessons.progress.focus_states.most_seen",
        ),
        Source(
            "Difference of two shares",
            "Whether a fault is seen less often, or more putts are holed, than before.",
            "It treats the looks or balls of the two shares as independent of one another.",
            "Method 10 of Newcombe (1998), Stat. Med. 17, 873-890.",
            "lessons.progress.intervals.difference",
        ),
        Source(
            "Difference of two paired shares",
            "How arrivals and departures of the same lessons differ.",
            "A departure is rated by the coach who taught it, and may be rated too kindly.",
            "Method 10 of Newcombe (1998), Stat. Med. 17, 2635-2650.",
            "lessons.progress.intervals.paired_difference",
        ),
        Source(
            "McNemar’s exact test",
            "Whether more lessons changed for the better than for the worse between arrival and departure.",
            "Only lessons that changed count; of few, even a real effect stays unclear.",
            "Agresti (2013), Categorical Data Analysis, 3rd ed., 11.1.1; McNemar (1947), Psychometrika 12.",
            "lessons.progress.significance.mcnemar",
        ),
    ),
)

TRENDS = SourceGroup(
    "Trends and what lasts",
    (
        Source(
            "Mann-Kendall trend test",
            "Whether a fault is seen less often, or more slightly, from look to look; also the academy’s months.",
            "It needs about eight looks to show anything and says nothing of the cause. The look on which a fault was"
            " chosen is left out, since after a bad day some improvement is likely anyway.",
            "Mann (1945), Econometrica 13, 245-259; Kendall (1975), Rank Correlation Methods, 4th ed.; the correction"
            " for ties: US EPA (2009), Unified Guidance 530/R-09-007, 17.3.2.",
            "lessons.progress.trend.mann_kendall",
        ),
        Source(
            "Trends where looks come in streaks",
            "Looks that resemble the one before show less than as many separate ones, so a trend has to be clearer."
            " Looks of different coaches are not compared with one another.",
            "How much looks resemble one another is estimated from few of them, and moved towards what is usual: three"
            " looks in ten copy the last one. Never more than half is taken for a streak.",
            "Hamed & Rao (1998), J. Hydrol. 204, 182-196, for long series, here for short ones; Hirsch, Slack & Smith"
            " (1982), Water Resour. Res. 18, 107-121, for blocks. What is usual is common practice, no source.",
            "lessons.progress.streaks.yes_no_trend",
        ),
        Source(
            "Trends that are read again and again",
            "A page is read after every arrival, and each time it may mislead: a trend of few looks has to be clearer.",
            "How often a steady fault is called rarer at some time was measured by simulation: at most 8 times in 100"
            " over 24 arrivals, 15 where half of all looks copy the last one, and more over years.",
            "O’Brien & Fleming (1979), Biometrics 35, 549-556; Lan & DeMets (1983), Biometrika 70, 659-663.",
            "lessons.progress.sequential.limit",
        ),
        Source(
            "Looks that are missing",
            "Whether a trend stands if the arrivals that one half was looked at less often had shown the opposite.",
            "Ten points fewer looks are taken for chance, which is common practice and has no source. Who always looked"
            " at a part of all arrivals, and then notes good days alone, is not seen.",
            "Bounds as in Manski (1990), Am. Econ. Rev. 80, 319-323, named from memory.",
            "lessons.progress.looking.at_worst",
        ),
        Source(
            "Rarer, or only milder",
            "Which of the two is said of a fault that gets better: each is tested by itself after both together.",
            "Where neither is clear by itself, the page says rarer or milder.",
            "Benjamini & Bogomolov (2014), J. R. Stat. Soc. B 76, 297-318.",
            "lessons.progress.judgement.Trend",
        ),
        Source(
            "Several trends at once",
            "Keeps the share of false alarms among the trends of one page at 7 in 100.",
            "A real trend is called later among many than it would be alone.",
            "Benjamini & Hochberg (1995), J. R. Stat. Soc. B 57, 289-300.",
            "lessons.progress.significance.benjamini_hochberg",
        ),
        Source(
            "Faults that are worked on come first",
            "Of the false alarms that a page may have, an open focus gets ten times the share of a closed one.",
            "What was closed is called better or worse later. The ten is common practice and has no source.",
            "Genovese, Roeder & Wasserman (2006), Biometrika 93, 509-524.",
            "lessons.progress.significance.weighted_p_values",
        ),
        Source(
            "Trends that cannot be significant",
            "Histories too short to show a trend in any order do not count as tests.",
            "They are told as counts only.",
            "Tarone (1990), Biometrics 46, 515-522.",
            "lessons.progress.judgement.judge_all",
        ),
        Source(
            "Difference of two readings",
            "Whether two measures, such as two stance widths, differ by more than two steps of what can be read.",
            "How finely a tape or a guess can be read is common practice of the trade. The rule is more careful than"
            " the standard, whose limit is 1.4 such steps, since days, balls and coaches differ, too.",
            "The repeatability limit of ISO 5725-6 (1994), 4.1, named from memory.",
            "lessons.measures.is_change",
        ),
        Source(
            "Performance and learning",
            "Why only the next arrival shows whether a change held: at the end of a lesson it may not last yet.",
            "A review of learning in general, not of golf.",
            "Soderstrom & Bjork (2015), Perspect. Psychol. Sci. 10, 176-199.",
            "lessons.progress.held.outcomes",
        ),
    ),
)

ACADEMY = SourceGroup(
    "Progress of the academy",
    (
        Source(
            "Trend of shares over ordered groups",
            "Whether changes hold less often the longer the gap to the next lesson, or more often with practice.",
            "Students chose how much they practised, so a trend does not show that practice was the cause.",
            "Cochran (1954), Biometrics 10, 417-451; Armitage (1955), Biometrics 11, 375-386.",
            "lessons.progress.significance.cochran_armitage",
        ),
        Source(
            "Expected counts by the academy’s own rates",
            "What a coach’s students would show at the academy’s average, with gap and practice taken into account.",
            "Other differences between students are not taken into account; nobody is ranked.",
            "Breslow & Day (1987), Statistical Methods in Cancer Research II, chapter 2.",
            "coachbook.caseload.findings.report.ChangeCounts",
        ),
        Source(
            "Control limits",
            "Whether a coach lies further from the expected number than chance alone would explain: three sigmas.",
            "With few changes nothing is said, since such limits are too rough.",
            "NIST/SEMATECH e-Handbook of Statistical Methods, 6.3.3.2.",
            "lessons.progress.intervals.control_limits",
        ),
        Source(
            "Design effect of clusters",
            "Looks at the same student resemble one another, so intervals are made wider.",
            "Few students hardly show how much their looks resemble one another; then the academy’s average is used.",
            "Kish (1965), Survey Sampling; Rao & Scott (1992), Biometrics 48, 577-585.",
            "coachbook.caseload.findings.clusters.design_effect",
        ),
        Source(
            "Partial pooling of shares",
            "What held after a drill, beside the other drills for the fault: each share is moved towards the common"
            " one, the fewer its students the further, and a range is that of the whole model.",
            "Coaches choose drills for reasons, so a difference need not be the drill’s. How strongly shares may draw"
            " together, as 4 to 400 further students, is a choice of ours.",
            "Gelman et al. (2013), Bayesian Data Analysis, 3rd ed., 5.3.",
            "drills.library.holding.pooling.pool",
        ),
    ),
)

PUTTING = SourceGroup(
    "Test results",
    (
        Source(
            "Start line and the hole",
            "How far a putt may start off line and still drop, from the sizes of hole and ball.",
            "A level green and a ball that rolls straight.",
            "Gelman & Nolan (2002), Teaching Statistics 24(3), 93-95. Sizes: Rules of Golf and Equipment Rules.",
            "drills.putting.hole.largest_error_deg",
        ),
        Source(
            "Model of a putter",
            "Joins all tests into four figures: the errors of start line and pace, and the bias of each.",
            "One player, a flat green, every ball on its own; the aim is the design’s own, at a hole usually 1 ft"
            " (0.3 m) past it, and up to 3 ft (0.9 m) past a ball can drop: conventions, not physics.",
            "Gelman (2019), Model building and expansion for golf putting, Stan case study, after Broadie (2018).",
            "drills.putting.model.Likelihood",
        ),
        Source(
            "Prior and 95% interval of a putter",
            "The estimate is the median of the posterior distribution, the range its middle 95%.",
            "Of few balls the result leans on the prior, which is wide: common practice, no source.",
            "Common practice, no source.",
            "drills.putting.posterior.compute_posterior",
        ),
        Source(
            "Read and aim",
            "The start line of the stroke by gates beside the line of putts at a hole; the rest is read or aim.",
            "The two inform each other only as far as they agree; with few balls a misread stays unnoticed.",
            "Mitchell & Beauchamp (1988), J. Am. Stat. Assoc. 83, 1023-1032.",
            "drills.putting.read_and_aim.reconcile",
        ),
        Source(
            "Wild balls",
            "A few balls that run much further or shorter than the rest do not widen the spread of the others.",
            "One ball in ten is taken as three times as wild, where that makes measured putts likelier.",
            "Tukey (1960), A survey of sampling from contaminated distributions.",
            "drills.putting.normal.HEAVY",
        ),
        Source(
            "What an error costs",
            "What a fifth less spread, or no bias, would bring in putts holed and three-putts, under the model.",
            "An error leads only if it is worth most in nine of ten draws: common practice, no source.",
            "Common practice, no source.",
            "drills.putting.putts.gains_near",
        ),
        Source(
            "Check of the model",
            "Whether the balls look as the model expects; if not, the page goes by the counts.",
            "With few balls only gross differences are noticed.",
            "Rao (1948), Proc. Camb. Phil. Soc. 44, 50-57.",
            "drills.putting.model_checks.model_fit_p_value",
        ),
        Source(
            "Change between two tests",
            "The range of a difference from the ranges of the two results.",
            "Tests of different designs or distances are not compared.",
            "Zou & Donner (2008), Stat. Med. 27, 1693-1702; Newcombe (1998), Stat. Med. 17, 873-890.",
            "drills.putting.predictions.difference_of",
        ),
        Source(
            "How many balls show a change",
            "How many balls it takes to tell two scores apart in 8 of 10 cases, with 5 false alarms in 100.",
            "An approximation that is rough below about ten balls.",
            "Fleiss, Levin & Paik (2003), Statistical Methods for Rates and Proportions, 3rd ed., chapter 4.",
            "drills.putting.sample_size.balls_to_tell",
        ),
        Source(
            "Chips and the putts after them",
            "The range of up and down and of strokes: chips are drawn again many times from those that were hit.",
            "It knows only the chips of the test; ten chips show little.",
            "Efron (1979), Ann. Stat. 7, 1-26; for the length of a target Weibull (1939).",
            "drills.putting.chips.chipping",
        ),
        Source(
            "A target that is met 7 times in 10",
            "Practice that is neither too easy nor too hard for this player.",
            "The share itself is the coach’s choice: common practice, no source.",
            "Guadagnoli & Lee (2004), J. Mot. Behav. 36, 212-224; for gates"
            " Brown, Cai & DasGupta (2001), Stat. Sci. 16, 101-133.",
            "drills.putting.challenge.holing_distance_m",
        ),
        Source(
            "A gate that is passed 7 times in 10",
            "The width of the next gate, by the balls that were counted at gates and no others.",
            "Taken without a bias; where balls clearly start to one side, the estimates of spread and bias set it.",
            "Brown, Cai & DasGupta (2001), Stat. Sci. 16, 101-133.",
            "drills.putting.challenge.gate_for_share",
        ),
        Source(
            "A length within which 7 chips of 10 stop",
            "The target of chips, by how far from the hole they stopped.",
            "Chips that were paced off alike are spread evenly over the step; the fewer the chips, the rougher it is.",
            "Hyndman & Fan (1996), Am. Stat. 50, 361-365.",
            "drills.putting.chips.leave_for_share",
        ),
        Source(
            "Published average for professionals",
            "The share of putts that professionals hole from each distance.",
            "Read in other public texts, not in the original; tournament greens and reads.",
            "Broadie, as quoted by golfingfocus.com and in View On magazine, March 2023.",
            "drills.putting.published.PROFESSIONALS",
        ),
        Source(
            "Published average for players who need about 90 strokes",
            "The same share for club players, and the putts after chips until a student’s own are known.",
            "Read in another public text; from 3 ft (0.9 m) on only.",
            "Broadie (2014), as quoted in a public text on putting.",
            "drills.putting.published.CLUB_PLAYERS",
        ),
        Source(
            "Published errors of start line and pace",
            "The two comparison rows under a student’s own errors.",
            "They include misreads; read in another public text.",
            "Bansal & Broadie (2008), Proc. 2008 Winter Simulation Conference, 2826-2834, as quoted.",
            "drills.putting.published.ERRORS",
        ),
        Source(
            "Speed of the green",
            "What a stimp reading means for a ball at the hole, and how uphill and downhill readings are joined.",
            "A level green of one speed; readings are noted beside results and change no estimate.",
            "Holmes (1986), The Physics Teacher 24; Penner (2002), Can. J. Phys. 80, 83-96; Brede (1990), USGA Green"
            " Section Record 28(6), 10-12.",
            "drills.putting.green.level_stimp_ft",
        ),
        Source(
            "The fastest ball that drops",
            "States how far the convention of 3 ft (0.9 m) past the hole is from what physics allows.",
            "For a ball that meets the middle of the hole.",
            "Holmes (1991), Am. J. Phys. 59, 129-136; Penner (2002), Can. J. Phys. 80, 83-96.",
            "drills.putting.green.capture_speed_mps",
        ),
    ),
)

TRADE = SourceGroup(
    "The trade",
    (
        Source(
            "Doses, sizes and thresholds",
            "How often to practise, how long a step is (0.9 m), from how many looks on a percentage is shown (eight).",
            "Starting values that an academy can change where it has a setting; none is a promise.",
            "Common practice, no source.",
            "lessons.progress.sentences.FEW",
        ),
        Source(
            "Units of length",
            "A foot is 0.3048 m, a yard 0.9144 m and an inch 25.4 mm.",
            "Exact.",
            "International yard and pound agreement of 1959.",
            "drills.putting.units.METRES",
        ),
    ),
)

GROUPS = (SHARES, TRENDS, ACADEMY, PUTTING, TRADE)
