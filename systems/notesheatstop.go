package systems

import (
	"fmt"
	"math"
	"time"
)

const stopped = "the space with its heat off from the stop on (climate.Room.AfterStops)"

// noteLoss notes the standing answer: what becomes of each coat if the heat stops.
func (p *planner) noteLoss(n notes) {
	h := p.o.HeatLoss
	if h == nil {
		return
	}
	for i := range h.Coats {
		p.noteLossCoat(n, fmt.Sprintf("heat_loss.coats.%d.", i), &h.Coats[i])
	}
	if h.Worst != nil {
		p.noteLossCoat(n, "heat_loss.worst.", h.Worst)
	}
}

func (p *planner) noteLossCoat(n notes, at string, c *HeatLossCoat) {
	work, m := workPath(&Work{Step: c.Step, Section: c.Section}), p.material(c.Step)
	in := append([]arg{of("stop", at+"stop")}, p.site()...)
	p.noteSection(n, at+"section", c.Section)
	n.tell(at+"stop", "the heat stops", c.Stop, "when the coat's last spot is down, or now if that was before", of("end of "+c.Title, work+"end"))
	if c.Planned != nil {
		n.tell(at+"planned", "tack-free as planned", *c.Planned, "as in the schedule", p.eventArgs(n, c.Step, c.Section, *c.Planned)...)
	}
	if c.TackFree != nil {
		sheet := in
		if t := m.Times[m.nearest(TackFree)]; len(t.Table) > 0 {
			sheet = append(sheet[:len(sheet):len(sheet)], arg{name: "tack-free of the sheet", text: t.text(), origin: t.Origin, file: m.fileOf(t.Origin)})
		}
		n.tell(at+"tack_free", "tack-free with the stop", *c.TackFree, "when the integral of dt / t(slab's temperature) comes to 1 (cure.Reach), in "+stopped, sheet...)
	}
	if c.Breaks != nil {
		p.noteBreak(n, at+"breaks.", c.Breaks, in)
	}
	if c.Notice != nil {
		n.tell(at+"notice.stop", "stop with the shortest notice", c.Notice.Stop, "of a stop as the coat is down and at every hour until it is tack-free, the one from which a limit breaks soonest: "+stopped, in...)
		n.tell(at+"notice.time", "shortest notice", c.Notice.Time, "from that stop until a limit breaks: "+stopped, append([]arg{of("that stop", at+"notice.stop")}, in[1:]...)...)
	}
	if c.NextReady != nil {
		n.tell(at+"next_ready", "ready for "+c.Next, *c.NextReady, "when the coat has come to what the next one waits for, in "+stopped, in...)
	}
	for k := range c.MayFollow {
		x, key := &c.MayFollow[k], fmt.Sprintf("%smay_follow.%d.", at, k)
		if x.From != nil {
			n.tell(key+"from", x.Name+" goes down from", *x.From, "the first start in a shift from which its limits are kept until it is tack-free, in "+stopped, in...)
		}
		if x.Until != nil {
			n.tell(key+"until", x.Name+" goes down until", *x.Until, "the last start of the same good spell, in "+stopped, in...)
		}
	}
}

// noteBreak notes how the weather after a stop breaks a limit.
func (p *planner) noteBreak(n notes, at string, b *Break, in []arg) {
	p.noteSection(n, at+"section", b.Section)
	n.tell(at+"at", "the limit breaks", b.At, "when it first does that the plan itself would not, in "+stopped, in...)
	n.tell(at+"after", "since the stop", b.After, "at - stop", append([]arg{of("at", at+"at")}, in[0])...)
	for path, t := range map[string]*time.Time{"worst": b.Worst, "anyway": b.Anyway} {
		if t != nil {
			n.tell(at+path, path, *t, map[string]string{"worst": "when it is worst until the coat is tack-free, in " + stopped, "anyway": "when the plan itself breaks the same limit later on"}[path], in...)
		}
	}
	f := b.finding()
	if b.Found.Q != nil {
		n.tell(at+"found", "found", b.Found.Q, "at its worst, in "+stopped, in...)
	}
	if b.Asked.Q != nil {
		x := p.noteAsked(n, &f)
		x.value = b.Asked.Q
		n[at+"asked"] = x
	}
	if b.By.Q != nil {
		n[at+"by"] = note{name: "beyond the limit", value: b.By.Q, formula: "how far found lies from asked", in: []arg{of("found", at+"found"), of("asked", at+"asked")}, by: func(x map[string]float64) (float64, error) {
			return math.Abs(x["found"] - x["asked"]), nil
		}}
	}
}
