package systems

import (
	"fmt"
	"reflect"
	"strconv"
	"strings"
	"time"

	"github.com/tackfree/tackfree/data/units"
)

// eachFigure calls yield for every figure of an outcome that its JSON has, by its
// place there, such as "take_off.3.gross": quantities, counts, prices and times. What the
// plan was made from (input, files, figures) is not in it: it explains the rest.
func (o *Outcome) eachFigure(yield func(path string, value any)) {
	var walk func(path string, v reflect.Value)
	walk = func(path string, v reflect.Value) {
		if v.Kind() == reflect.Pointer {
			if v.IsNil() {
				return
			}
			v = v.Elem()
		}
		switch x := v.Interface().(type) {
		case Amount:
			if x.Q != nil {
				yield(path, x.Q)
			}
			return
		case units.Quantity, time.Time, int, float64:
			yield(path, x)
			return
		}
		switch v.Kind() {
		case reflect.Slice:
			for i := range v.Len() {
				walk(path+"."+strconv.Itoa(i), v.Index(i))
			}
		case reflect.Struct:
			for i := range v.NumField() {
				name, options, _ := strings.Cut(v.Type().Field(i).Tag.Get("json"), ",")
				if name == "" || name == "-" || options == "omitempty" && v.Field(i).IsZero() {
					continue
				}
				walk(strings.TrimPrefix(path+"."+name, "."), v.Field(i))
			}
		}
	}
	whole := reflect.ValueOf(o).Elem()
	for i := range whole.NumField() {
		switch name, _, _ := strings.Cut(whole.Type().Field(i).Tag.Get("json"), ","); name {
		case "", "-", "input", "files", "figures", "cautions":
		default:
			walk(name, whole.Field(i))
		}
	}
}

// named turns the place of a figure in the JSON into the name that notes have
// for it: "take_off.3.gross" into "steps.body.gross". Other paths stay as they are.
func (o *Outcome) named(path string) string {
	part := strings.Split(path, ".")
	if len(part) < 3 {
		return path
	}
	i, err := strconv.Atoi(part[1])
	if err != nil || i < 0 {
		return path
	}
	rest := strings.Join(part[2:], ".")
	switch {
	case part[0] == "areas" && i < len(o.Areas):
		return "areas." + o.Areas[i].Name + "." + rest
	case part[0] == "build" && i < len(o.Build):
		if rest == "total" {
			return "build." + o.Build[i].Step + ".total"
		}
		return "steps." + o.Build[i].Step + "." + rest
	case part[0] == "take_off" && i < len(o.TakeOff):
		short := map[string]string{"batches.n": "batches", "batches.each": "batch", "batches.largest": "largest", "batches.pot_life": "pot_life", "batches.at": "batch_air",
			"volatiles.organic": "organic", "volatiles.actual": "voc", "volatiles.less_water": "voc_less_water"}
		if s, ok := short[rest]; ok {
			rest = s
		}
		return "steps." + o.TakeOff[i].Step + "." + rest
	case part[0] == "marks" && i < len(o.Marks) && rest == "relief":
		return "marks." + o.Marks[i].Step
	case part[0] == "order" && i < len(o.Order):
		l := &o.Order[i]
		short := map[string]string{"units": l.Unit + "s", "mass": "need", "left_mass": "left", "unit_mass": "unit"}
		if l.UnitVolume > 0 {
			short = map[string]string{"units": l.Unit + "s", "volume": "need", "left_volume": "left", "unit_volume": "unit"}
		}
		if s, ok := short[rest]; ok {
			rest = s
		}
		return "order." + l.Material + "." + rest
	case part[0] == "schedule" && i < len(o.Schedule):
		w := &o.Schedule[i]
		at := workPath(w)
		if len(part) == 5 && part[2] == "events" {
			if k, err := strconv.Atoi(part[3]); err == nil && k >= 0 && k < len(w.Events) {
				return at + w.Events[k].Event
			}
		}
		switch rest {
		case "slab", "air", "rh", "margin":
			rest += "_at_start"
		}
		return at + rest
	}
	return path
}

// workPath begins the names of the figures of a line of the schedule.
func workPath(w *Work) string {
	if w.Section > 1 {
		return fmt.Sprintf("steps.%s.%d.", w.Step, w.Section)
	}
	return "steps." + w.Step + "."
}

// noteNothing notes the figures that are nothing because the step, or what is
// bought, has no such thing.
func (p *planner) noteNothing(n notes) {
	p.o.eachFigure(func(path string, value any) {
		name := p.o.named(path)
		if _, ok := n[name]; ok || si(value) != 0 {
			return
		}
		what := arg{name: "what it is", text: "nothing", origin: Origin{Basis: CommonPractice, Note: "the plan has none"}}
		if step, ok := strings.CutPrefix(name, "steps."); ok {
			id, _, _ := strings.Cut(step, ".")
			if s := p.step(id); s != nil {
				what = arg{name: "what the step does", text: s.Does, origin: Origin{Basis: CommonPractice, Note: "by the recipe"}, file: &p.j.Recipe.file}
			}
		} else if strings.HasPrefix(name, "order.") {
			what = arg{name: "how it is counted", text: "liquids by volume, aggregates by mass", origin: Origin{Basis: CommonPractice, Note: "as they are sold"}}
		}
		n[name] = note{name: strings.ReplaceAll(name[strings.LastIndex(name, ".")+1:], "_", " "), value: value, formula: "none here", nothing: true, in: []arg{what}, by: func(map[string]float64) (float64, error) { return 0, nil }}
	})
}
