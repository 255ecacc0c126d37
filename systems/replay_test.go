package systems_test

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"io/fs"
	"strings"
	"testing"
	"testing/fstest"

	"github.com/tackfree/tackfree/data"
	"github.com/tackfree/tackfree/systems"
)

func marshal(t *testing.T, o *systems.Outcome) []byte {
	t.Helper()
	text, err := json.Marshal(o)
	if err != nil {
		t.Fatal(err)
	}
	return text
}

// newer is the built-in data with a later version of every material, recipe
// apart from those asked for by version, limits, marks, cautions and heat file,
// whose figures differ where that is easy.
func newer(t *testing.T) fs.FS {
	t.Helper()
	m := fstest.MapFS{}
	err := fs.WalkDir(data.Files, ".", func(name string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		text, err := fs.ReadFile(data.Files, name)
		m[name] = &fstest.MapFile{Data: text}
		if name == "sources.toml" || err != nil {
			return err
		}
		for _, v := range []string{"1.0.0", "1.1.0", "1.2.0"} { // the later one is walked to last
			if strings.HasSuffix(name, v+".toml") {
				later := strings.NewReplacer("version = \""+v+"\"", "version = \"9.0.0\"", "vessel = { value = \"1 gal\"", "vessel = { value = \"0.5 gal\"", "value = \"3 K\"", "value = \"4 K\"", "Slips", "Slipping", "waste = { value = \"5 %\"", "waste = { value = \"8 %\"").Replace(string(text))
				m[strings.TrimSuffix(name, v+".toml")+"9.0.0.toml"] = &fstest.MapFile{Data: []byte(later)}
			}
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	return m
}

// A plan made again from its own JSON is the same to the byte, also where the
// catalog has newer versions of everything; and those would change it.
func TestReplay(t *testing.T) {
	c := builtin(t)
	later, err := systems.Load(newer(t))
	if err != nil {
		t.Fatal(err)
	}
	for name, text := range map[string]string{
		"demo": string(systems.DemoJob()), "old": strings.Replace(string(systems.DemoJob()), "quartz-broadcast@1.2.0", "quartz-broadcast@1.0.0", 1),
		"unversioned": baseJob, "every finding": read(t, "every-finding.toml"), "overlay": read(t, "overlay.toml"), "typed": read(t, "typed.toml"),
		"slurry": read(t, "slurry.toml"), "mortar": read(t, "mortar.toml"), "flake": read(t, "flake.toml"), "cove": read(t, "cove.toml"), "repair": read(t, "repair.toml"), "vertical": read(t, "vertical.toml"),
		"a profile": baseJob + "[grind]\nprofile = 6\n", "a limit of moisture": baseJob + "[limits]\nmoisture = \"moisture-f1869-3lb\"\n",
		"an old limit": baseJob + "[limits]\nmargin = \"dew-point-3k@1.0.0\"\n",
	} {
		want := marshal(t, planWith(t, c, text))
		for which, c := range map[string]*systems.Catalog{"the same": c, "newer": later} {
			o, err := systems.Replay(context.Background(), want, c)
			if err != nil {
				t.Errorf("%s, %s data: %v", name, which, err)
			} else if got := marshal(t, o); !bytes.Equal(got, want) {
				t.Errorf("%s, %s data: other bytes", name, which)
			}
		}
		if now := marshal(t, planWith(t, later, strings.NewReplacer("@1.1.0", "", "@1.2.0", "").Replace(text))); bytes.Equal(now, want) {
			t.Errorf("%s: newer data change nothing: the check is blind", name)
		}
	}
}

// A logger's file goes with the plan.
func TestReplayWithLog(t *testing.T) {
	c := builtin(t)
	text := baseJob[:strings.Index(baseJob, "[temperatures.slab]")] + "[temperatures]\nlog_file = \"log.csv\"\n"
	folder := fstest.MapFS{"job.toml": file(text), "log.csv": file("time,slab (°F),air (°F),rh (%)\n0h,62,64,50\n240h,63,66,50\n")}
	j, err := systems.ReadJobFS(folder, "job.toml", c)
	if err != nil {
		t.Fatal(err)
	}
	o, err := systems.Plan(context.Background(), j)
	if err != nil {
		t.Fatal(err)
	}
	want := marshal(t, o)
	again, err := systems.Replay(context.Background(), want, c)
	if err != nil {
		t.Fatal(err)
	}
	if !bytes.Equal(marshal(t, again), want) {
		t.Error("other bytes")
	}
	var indented bytes.Buffer
	if err := json.Indent(&indented, want, "", "  "); err != nil {
		t.Fatal(err)
	}
	if _, err := systems.Replay(context.Background(), indented.Bytes(), c); err != nil {
		t.Errorf("the same JSON, indented: %v", err)
	}
}

// What is not a plan, or not the data that it was made from, is refused.
func TestReplayErrors(t *testing.T) {
	c := builtin(t)
	good := string(marshal(t, planWith(t, c, baseJob)))
	hash := good[strings.Index(good, `"hash":"`)+8:][:64]
	for _, tc := range []struct{ text, want string }{
		{"", "unexpected end"},
		{"{}", "want the JSON of a whole Outcome"},
		{strings.Replace(good, hash, strings.Repeat("0", 64), 1), "from which the plan was made"},
		{strings.Replace(good, `"id":"epoxy-standard"`, `"id":"epoxy-vanished"`, 1), "the catalog has no material epoxy-vanished 1.2.0"},
		{strings.Replace(good, `hands = 3`, `hands = x`, 1), "job:9"},
		{strings.Replace(good, `hands = 3`, `hands = 2`, 1), "differs from the one recorded"},
	} {
		if _, err := systems.Replay(context.Background(), []byte(tc.text), c); err == nil || !strings.Contains(err.Error(), tc.want) {
			t.Errorf("%.60s: %v, want %q", tc.text, err, tc.want)
		}
	}
	if o, err := systems.Replay(context.Background(), []byte(strings.Replace(good, `hands = 3`, `hands = 2`, 1)), c); o == nil || !errors.Is(err, systems.ErrDiffers) {
		t.Errorf("another job: %v; want the outcome all the same", err)
	}
	if _, err := systems.Replay(context.Background(), []byte(good), nil); err == nil {
		t.Error("no catalog: want an error")
	}
}
