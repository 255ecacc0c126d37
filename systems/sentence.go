package systems

import (
	"strings"

	"github.com/tackfree/tackfree/data/units"
)

// Sentence says the finding in one English sentence, with its quantities in s.
// Apps that show their own make it from Key and the other fields.
func (f Finding) Sentence(s units.System) string {
	if f.Past {
		f.Past = false
		return "Past: " + f.Sentence(s)
	}
	found, asked := f.Found.In(s), f.Asked.In(s)
	by := ""
	if f.Owner != "" {
		by = " (asked by " + f.Owner
		if f.Limit != "" {
			by += ", " + f.Limit
		}
		by += ")"
	}
	key, later := strings.CutSuffix(f.Key, "-before-tack-free")
	when := " while it is placed"
	if later {
		when = " before it is tack-free"
	}
	switch key {
	case "slab-too-cold":
		return "The slab is down to " + found + when + "; at least " + asked + by + "."
	case "slab-too-hot":
		return "The slab is up to " + found + when + "; at most " + asked + by + "."
	case "air-too-cold":
		return "The air is down to " + found + when + "; at least " + asked + by + "."
	case "air-too-hot":
		return "The air is up to " + found + when + "; at most " + asked + by + "."
	case "air-too-damp":
		return "Relative humidity is up to " + found + when + "; at most " + asked + by + "."
	case "air-too-dry":
		return "Relative humidity is down to " + found + when + "; at least " + asked + by + "."
	case "dew-point-margin":
		if m, ok := f.Found.Q.(units.TempDelta); ok && m < 0 {
			return "The slab is " + units.Format(-m, s) + " below the dew point" + when + ": water condenses on it; at least " + asked + " above" + by + "."
		}
		return "The slab is only " + found + " above the dew point" + when + "; at least " + asked + by + "."
	case "slab-falling":
		return "The slab's temperature changes by " + found + " in the hour after the start: the rule asks for it to be rising" + by + "."
	case "colder-than-data-sheet":
		return "The slab is down to " + found + ", colder than the coldest row of the data sheet, " + asked + ": no cure is counted while it is" + by + "."
	case "never-cures":
		return "It does not become tack-free along the temperatures given" + by + "."
	case "too-few-moisture-tests":
		return "There are " + f.Limit + " (asked by " + f.Owner + ")."
	case "pot-life-of-less":
		return "Batches may be as large as " + found + ", and the pot life is that of " + asked + ": more at once grows hotter and goes off sooner" + by + "."
	case "humidity-beyond-data-sheet":
		where, then := " over the slab", "no progress is counted while it is beyond"
		switch {
		case f.Event == PotLife:
			where, then = "", "the pot life is shorter than its columns, by the line of the last two"
		case isLatest(f.Event):
			then = "the window is shorter than its columns, by the line of the last two"
		}
		return "Relative humidity" + where + " goes to " + found + ", and the columns of " + words(f.Event) + " in the data sheet " + f.Limit + " end at " + asked + ": " + then + "."
	case "no-dose-for-temperature":
		return "The slab is at " + found + " when the step begins, and the doses of initiator end at " + asked + by + ": no dose is told, and none should be guessed."
	case "dose-beyond-kits":
		return "At the temperature of the work the step takes " + found + " of initiator, and what of its kits it uses holds " + asked + ": order the rest with them."
	case "tank-runs-dry":
		return "The tank of " + f.Limit + " runs dry: over the days given it would burn " + found + ". Refill it before then, or the space goes cold."
	case "heaters-at-maximum":
		return "The heaters give all they have: the air is down to " + found + ", and " + asked + " is set" + by + ". More heat, fewer air changes, or a longer run before."
	case "slab-sweats":
		return "The slab is colder than the dew point of the space, by up to " + found + ": water condenses on it."
	case "unvented-heat-damps":
		return "The water from unvented heaters costs the slab's margin above the dew point: down to " + found + " with them, " + asked + " if their exhaust were led outdoors" + by + "."
	case "carbon-dioxide":
		return "Carbon dioxide from unvented heaters comes to " + found + " by volume; at most " + asked + " over a shift" + by + ". Carbon monoxide comes with it where air is short: more outdoor air, or vented heat."
	case "flame-in-vapour":
		return "Its vapour burns, and " + f.Limit + " is an open flame in the same space while it is wet: put it out, let it cool and air the space before pails are opened; heat from outside of the vapour, with no flame or spark in it (asked by " + f.Owner + ")."
	case "still-drying":
		out := "; along the temperatures given it does not get there"
		if f.Until != nil {
			out = "; left open it is there " + f.Until.Format(stamp)
		}
		return "By its data sheet the next coat may go on, and " + found + " of the water is still in it; at most " + asked + " counts as dry" + out + by + "."
	case "water-not-given":
		return "It is waterborne and " + f.Limit + " does not say how much water it holds: the plan counts none in the air of the space; ask the maker (water, by volume)."
	case "water-not-followed":
		return "The space cannot be followed with the water of coats and slab (" + f.Limit + "): the plan counts none of what the last coats or the slab give."
	case "slab-moisture-not-in-air":
		return "No emission of the slab is given (a dish, [moisture] emission): the plan counts none of its moisture in the air of the space."
	case "forecast-not-settled":
		return "Plan and forecast of the space do not settle: the coats that dry come up to " + found + " from where the forecast has them. Look at the air by hand, or hold a step back."
	case "order-of-sections-held":
		return "With the order of the sections left free, plan and forecast of the space would not settle. Each order was planned in the air that it makes itself, and the better is this: " + f.Limit + "."
	case "held-for-own-water":
		return "It is held for " + found + ": begun sooner, it would move the water in the air, and with that the plan around it, from where the forecast has them. It may go down sooner where slab and air are read to be inside its limits."
	case "coats-damp-the-air":
		return "The water of drying coats costs the slab's margin above the dew point: down to " + found + " with it, " + asked + " without" + by + ". Open doors or run fans while they dry."
	case "not-in-recipe":
		return "The job has " + f.Limit + ", and this recipe has no step for that: it is neither ordered nor planned."
	case "grits-not-used":
		return "The job has grits to grind the floor with, and this recipe coats none of it: they change neither hours nor films, and its own step prepares what it coats. The floor is another job."
	case "condition-not-met":
		return "The slab does not come to " + temperatures(f.Limit, s) + " along the temperatures given, as the recipe asks before the coats: more heat, or a colder chemistry."
	case "condition-not-awaited":
		return "It starts before the slab is at " + temperatures(f.Limit, s) + ", as the recipe asks before the coats; the recipe does not make it wait."
	case "no-time-given":
		said := "The data sheet " + f.Limit + " gives no time for " + words(f.Event)
		if f.Instead != "" {
			return said + ": the plan takes its time for " + words(f.Instead) + " in its place; ask the maker."
		}
		return said + ": the plan cannot look after it; ask the maker."
	case "figure-outside-class":
		bound := " or less"
		if f.Found.Q != nil && f.Asked.Q != nil && units.Compare(f.Found.Q, f.Asked.Q) < 0 {
			bound = " or more"
		}
		return f.Limit + " is " + found + "; its class " + f.Owner + " lets one expect " + asked + bound + ": look at the sheet again, its unit and its row."
	case "never-ready":
		return "The step cannot be planned: " + f.Limit + "."
	case "not-ready":
		return "It begins before what it waits for has come (" + f.Limit + ")."
	case "crew-still-busy":
		return "It is to begin while the crew is still at: " + f.Limit + "."
	case "past-the-shift":
		return "The coat is not down when the shift ends" + by + ": more hands, or an earlier start."
	case "window-missed":
		return "The recoat window of the coat below has closed before this one is down: abrade first, or move the work" + by + "."
	case "no-longer-wet":
		return "The coat that this one is laid into is tack-free before all of it is covered: prime a smaller part at a time, or use more hands" + by + "."
	case "grain-not-held":
		return "The wet film holds at most " + found + " of grain, and the recipe says that " + asked + " stays: the plan takes what the film holds" + by + "."
	case "broadcast-too-late":
		return "The grain falls after the film takes it: follow the coat closer, or move the work" + by + "."
	case "one-pair-of-hands":
		return "One pair of hands spreads the coat and throws the grain in turn: the plan counts both, but the film waits for its grain meanwhile; two or more keep close behind it."
	case "pot-life-too-short":
		return "The pot life is " + found + " and mixing takes " + asked + ": no batch reaches the floor" + by + "."
	case "shift-too-short":
		return "It takes " + found + " without a stop, with any broadcast into it, and the shift is " + asked + ": more sections or more hands" + by + "."
	case "film-too-thin":
		return "The wet film is " + found + "; at least " + asked + by + "."
	case "film-too-thick":
		return "The wet film is " + found + "; at most " + asked + by + "."
	case "build-out-of-range":
		return "The floor builds " + found + ", outside the recipe's range at " + asked + by + "."
	case "uptake-unmeasured":
		return "Nothing is known of how much area " + f.Limit + " drinks: measure it with water or resin, the take-off counts none."
	case "slab-too-wet":
		return "The slab's moisture is " + found + "; at most " + asked + by + "."
	case "slab-moisture-unmeasured":
		return "The coat asks for a slab of at most " + asked + by + "; no such reading is given."
	case "profile-does-not-fit":
		return "The slab has " + f.Limit + " is what " + found + " of floor wants (asked by " + f.Owner + ")."
	case "patch-too-deep":
		return "Patch " + f.Limit + " is " + found + " deep; at most " + asked + " in one lift (asked by " + f.Owner + "): fill it in lifts."
	case "joint-too-young":
		if age, ok := f.Found.Q.(units.Span); ok && age.Duration() < day {
			found = "less than a day"
		}
		return "The slab is " + found + " old; at least " + asked + by + " before its joints are filled."
	case "scratch-telegraphs":
		return "Scratches of grit " + f.Limit + " leave " + found + " of relief that will show; at most " + asked + " (asked by " + f.Owner + ")."
	case "scratch-not-flooded":
		return "Scratches of grit " + f.Limit + ", " + found + " deep, are not flooded by the films over them, which may follow them: more than " + asked + " of relief may show (asked by " + f.Owner + "); a finer grit, or a thicker first coat."
	case "grain-falls-behind":
		return "Throwing falls behind spreading: spread at most " + found + " in one go of the section's " + asked + ", so that the grain falls while the film takes it" + by + "."
	case "kit-above-batch":
		return "Its kits are mixed whole, " + found + " at least, and the crew lays only " + asked + " before the pot life ends: more hands, cooler kits or a slower product" + by + "."
	case "batch-stays-in-bucket":
		return "A batch is at most " + found + " and " + asked + " of it stays in its bucket: the plan counts no residue, and the work does not go with such batches" + by + "."
	case "kits-not-proved":
		return "The cheapest kits for " + found + " of " + f.Limit + " were not found in reasonable time: the largest are taken."
	case "volatiles-above-limit":
		if v, ok := f.Found.Q.(units.Density); ok {
			found = VolatilesText(v, s)
		}
		if v, ok := f.Asked.Q.(units.Density); ok {
			asked = VolatilesText(v, s)
		}
		return "Volatile organic compounds as applied are " + found + "; at most " + asked + " (asked by " + f.Owner + "): which figure counts there, the local rule says."
	case "volatiles-not-given":
		return "Nothing is known of the volatile organic compounds of " + f.Limit + ": the plan cannot hold them against the limit of " + f.Owner + "; ask the maker."
	case "edge-unmeasured":
		return "Nothing is known of the edges of area " + f.Limit + ": the take-off counts none of what is cut in; give its shape, or edge."
	case "done-too-early":
		said := "It was begun before " + f.Limit + " had come to " + words(f.Event)
		if f.Until == nil {
			return said + ", which it does not reach at these temperatures: look what it did to the work below" + by + "."
		}
		return said + ": look what it did to the work below" + by + "."
	case "longer-than-planned":
		return "It was begun and should have ended: the plan counts it as ending now."
	case "used-off-plan":
		return "It took " + found + ", and the take-off has " + asked + ": look at film and area, and at what is left for the rest."
	case "gap-in-log":
		return "The logger is silent on " + f.Limit + " for hours: the plan takes a straight line from one reading to the next, and what a night did between is not in it."
	case "rest-runs-short":
		return "By what was used " + found + " of " + f.Limit + " is left of the order, and the rest of the work takes " + asked + ": order more, or measure what is there."
	case "tank-not-read":
		return "What is in the tank of " + f.Limit + " now is not told: the plan counts " + found + ", as the forecast has burned it; read it (left)."
	case "weather-held":
		return "Work or cure goes on beyond the last reading of " + f.Limit + ": it is held as it was then, so look again with a new forecast."
	case "weather-before-first-reading":
		return "Work begins before the first reading of " + f.Limit + ": that reading is taken for the hours before it, which nobody measured."
	}
	return f.Key + ": found " + found + ", asked " + asked + by + "."
}

// words says an event as a person does.
func words(event string) string { return strings.ReplaceAll(event, "-", " ") }

// temperatures puts a limit's text, such as "45 °F", "up to 90 °F" or
// "45 °F to 90 °F", into s.
func temperatures(limit string, s units.System) string {
	rest, most := strings.CutPrefix(limit, "up to ")
	all := strings.Split(rest, " to ")
	for i, text := range all {
		var t units.Temperature
		if t.UnmarshalText([]byte(text)) == nil {
			all[i] = units.Format(t, s)
		}
	}
	if most {
		all[0] = "up to " + all[0]
	}
	return strings.Join(all, " to ")
}
