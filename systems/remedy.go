package systems

import (
	"strings"

	"github.com/tackfree/tackfree/data/units"
)

// say puts every finding into words: what is found, and what to do about it.
func (o *Outcome) say() {
	for i := range o.Findings {
		f := &o.Findings[i]
		f.Text, f.Do = f.Sentence(units.SI), f.Remedy()
	}
}

// Remedy says in one or two English sentences what is to be done about the
// finding where [Finding.Sentence] does not say it already; else it is "". It
// names the usual ways of the trade: which of them do on this job, the plan's
// Alternatives, Decide and WhatIf work out. Common practice, no source.
func (f Finding) Remedy() string {
	if f.Past { // it cannot be kept from happening
		if f.Severity == Stop {
			return "Look what it left before more goes on it."
		}
		return ""
	}
	key, later := strings.CutSuffix(f.Key, "-before-tack-free")
	if later {
		return remediesWet[key]
	}
	return remedies[key]
}

// remediesWet are those of what breaks a limit while a coat lies and is wet.
var remediesWet = map[string]string{
	"slab-too-cold":    "Hold the heat until it is tack-free, or take a chemistry for the cold.",
	"slab-too-hot":     "Start when a cooler time follows, shade the slab, or take another product.",
	"air-too-cold":     "Hold the heat until it is tack-free, or take a chemistry for the cold.",
	"air-too-hot":      "Start when a cooler time follows, cool the space, or take another product.",
	"air-too-damp":     "Keep the air dry until it is tack-free: dryers, or vented or electric heat; or start before a drier time.",
	"air-too-dry":      "Start before a damper time, or take a product that needs less.",
	"dew-point-margin": "Keep the slab warm and the air dry until it is tack-free; unvented heat makes it worse.",
}

// remedies are those of all other findings. What is not here is told by its
// sentence, or wants nothing done.
var remedies = map[string]string{
	"slab-too-cold":                "Warm the slab first, or take a chemistry for the cold.",
	"slab-too-hot":                 "Wait for a cooler time, shade the slab, or take another product.",
	"air-too-cold":                 "Heat the space first, or take a chemistry for the cold.",
	"air-too-hot":                  "Wait for a cooler time, cool the space, or take another product.",
	"air-too-damp":                 "Dry the air, heat it with vented or electric heat, or wait for a drier time.",
	"air-too-dry":                  "Wait for a damper time, or take a product that needs less.",
	"dew-point-margin":             "Warm the slab or dry the air first; unvented heat makes it worse.",
	"slab-falling":                 "Wait until it rises.",
	"colder-than-data-sheet":       "Warm the slab, or ask the maker for times in that cold.",
	"never-cures":                  "Do not lay it so: warm the slab, dry the air, or take another material.",
	"never-ready":                  "Warm the slab or dry the air for what it waits for, or take another material there.",
	"not-ready":                    "Start later, or test first whether it has come so far.",
	"crew-still-busy":              "Start later, or bring more hands.",
	"no-dose-for-temperature":      "Wait for a temperature with a dose, or ask the maker.",
	"pot-life-of-less":             "Mix less at once, or pour it out at once and spread it.",
	"pot-life-too-short":           "Cool the material, wait for a cooler time, or take a slower product.",
	"humidity-beyond-data-sheet":   "Dry the air, or ask the maker for times in that damp.",
	"slab-sweats":                  "Lay nothing on it until it is dry again: let in drier air or dry it, and warm the slab before the air. Below freezing it is frost, which melts later.",
	"unvented-heat-damps":          "Take vented or electric heat, or let in outdoor air.",
	"water-not-followed":           "Open doors or run fans while they dry, and read slab and air by hand.",
	"slab-moisture-not-in-air":     "Set a dish on the slab.",
	"still-drying":                 "Wait until it is dry through; open doors or run fans.",
	"not-in-recipe":                "Take a recipe that has it, or order and plan it by itself.",
	"condition-not-awaited":        "Hold it back until then, or heat sooner.",
	"grain-not-held":               "Lay a thicker film, or expect less grain.",
	"film-too-thin":                "Lay a thicker film, or take a product for thin ones.",
	"film-too-thick":               "Lay it in two coats, or take a product for thick ones.",
	"build-out-of-range":           "Change the films, or take another recipe.",
	"slab-too-wet":                 "Let it dry and test again, or take a recipe with a moisture-mitigation primer.",
	"slab-moisture-unmeasured":     "Test it before anything more goes down.",
	"profile-does-not-fit":         "Prepare the slab to that, or build another thickness.",
	"joint-too-young":              "Wait: filled sooner, they open again as the slab shrinks.",
	"scratch-telegraphs":           "Grind on with a finer grit, or lay a thicker first coat.",
	"batch-stays-in-bucket":        "More hands, a cooler time, or a slower product.",
	"too-few-moisture-tests":       "Make the rest of them before a coat goes down.",
	"kits-not-proved":              "Compare with the dealer's offer by hand.",
	"volatiles-above-limit":        "Take a product with less, or ask the authority.",
	"longer-than-planned":          "Tell when it ended.",
	"gap-in-log":                   "Read by hand at night, or have the logger read more often.",
	"weather-before-first-reading": "Read slab and air before work begins.",
}
