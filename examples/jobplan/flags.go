package main

import (
	"flag"
	"fmt"
	"maps"
	"slices"
	"strings"
)

// together refuses flags that are given with nothing in them, or of which one
// would do nothing beside the others.
func together(flags *flag.FlagSet) error {
	given := map[string]bool{}
	var err error
	flags.Visit(func(f *flag.Flag) {
		given[f.Name] = f.Value.String() != "false"
		if f.Value.String() == "" && f.Name != "draws" && f.Name != "seed" { // these say so themselves
			_, usage := flag.UnquoteUsage(f)
			err = fmt.Errorf("found -%s with nothing: want %s", f.Name, usage)
		}
	})
	if err != nil {
		return err
	}
	const draws = "confidence money draws seed"
	fits := map[string]string{ // what each answer may stand beside, with -units and -strict
		"why": "json learn", "whatif": "json picture width", "picture": "width whatif draws seed",
		"decide": "json " + draws, "learn": "json why " + draws,
		"confidence": "json decide learn " + draws, "money": "json decide learn " + draws,
	}
	for _, answer := range slices.Sorted(maps.Keys(fits)) {
		for _, name := range slices.Sorted(maps.Keys(given)) {
			if given[answer] && given[name] && name != answer && name != "units" && name != "strict" && !slices.Contains(strings.Fields(fits[answer]), name) {
				return fmt.Errorf("found -%s beside -%s: want one of them", answer, name)
			}
		}
	}
	if given["width"] && !given["picture"] {
		return fmt.Errorf("found -width without -picture: want it with that")
	}
	for _, name := range []string{"draws", "seed"} {
		switch {
		case given[name] && given["whatif"]:
			return fmt.Errorf("found -%s beside -whatif: its sheet has no draws", name)
		case given[name] && !given["confidence"] && !given["money"] && !given["picture"]:
			return fmt.Errorf("found -%s without -confidence, -money or -picture: want it with one of them", name)
		}
	}
	return nil
}
