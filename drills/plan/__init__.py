"""A week of practice: the doses of all drills laid over the days that a student picked. Pure; nothing reads a clock.

A week has seven days, 0 to 6, from the student's first day of it. `room` says how many minutes there are on each day:
0 where no practice was picked. A drill is asked for so many times a week (`Ask`), at most once a day, and takes the
same minutes each time: those of its dose, or, where that is in balls, those that the drill says it takes.

The rules, the first before the second and so on:

1. No day holds more minutes than it has room for, and no drill stands twice on a day.
2. Every dose is met whenever that is possible. Where it is not, the drills that stand first get all they can and the
   last one gives way.
3. What was planned stays on its day. After a day that went otherwise, as few sessions as possible change their day.
4. The sessions of a drill are spaced: the squares of the days from each to the next, the week taken as a circle, add
   up to as little as possible, over all drills.
5. Days are alike: the squares of the minutes of each day add up to as little as possible.
6. What is still equal is decided by the earliest days, drill by drill: the same asks always make the same plan.

Rules 2 to 6 hold exactly for three drills, as many as a student has focuses. Of further drills the plan holds rule 1
and rule 6, and follows the others only among the best plans for the drills before: the fewer the more drills there
are, down to one by one (`search.FOLLOWED`).
The rules are common practice, no source.
"""

from drills.plan.search import Ask, Plan, plan_week
from drills.plan.usual import usual_days
from drills.plan.week import Moved, Week, follow_week

__all__ = ["Ask", "Moved", "Plan", "Week", "follow_week", "plan_week", "usual_days"]
