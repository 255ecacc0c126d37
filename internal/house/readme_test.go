package house

import (
	"go/ast"
	"go/parser"
	"go/token"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
)

// Common practice, no source: the table of formulas in the README has four
// columns and no thing twice, and each function and type that it names is there,
// in the package that it names.
func TestREADMEFormulas(t *testing.T) {
	raw, err := os.ReadFile("../../README.md")
	if err != nil {
		t.Fatal(err)
	}
	_, rest, ok := strings.Cut(string(raw), "| what | source | package | function |\n|---|---|---|---|\n")
	table, _, ok2 := strings.Cut(rest, "\n\n")
	if !ok || !ok2 {
		t.Fatal("the README has no table of formulas")
	}
	names := regexp.MustCompile("`([A-Z][A-Za-z0-9.]*)`")
	seen, packages := map[string]bool{}, map[string]map[string]bool{}
	count := 0
	for row := range strings.SplitSeq(table, "\n") {
		cells := strings.Split(strings.TrimSuffix(strings.TrimPrefix(row, "| "), " |"), " | ")
		if len(cells) != 4 {
			t.Errorf("%d columns: %s", len(cells), row)
			continue
		}
		if seen[cells[0]] {
			t.Errorf("twice: %s", cells[0])
		}
		seen[cells[0]] = true
		all := map[string]bool{}
		for pkg := range strings.SplitSeq(cells[2], ", ") {
			if packages[pkg] == nil {
				packages[pkg] = exported(t, "../../"+pkg)
			}
			for name := range packages[pkg] {
				all[name] = true
			}
		}
		for _, m := range names.FindAllStringSubmatch(cells[3], -1) {
			if count++; !all[m[1]] {
				t.Errorf("%s: package %s has no %s", cells[0], cells[2], m[1])
			}
		}
	}
	if len(seen) < 80 || count < 150 {
		t.Errorf("%d rows with %d names: want the whole table", len(seen), count)
	}
}

// exported returns the functions, types, constants, fields and methods of a
// directory's package; the last two behind their type and a point.
func exported(t *testing.T, dir string) map[string]bool {
	t.Helper()
	files, err := filepath.Glob(filepath.Join(dir, "*.go"))
	if err != nil || len(files) == 0 {
		t.Fatalf("%s: %d files, %v", dir, len(files), err)
	}
	out := map[string]bool{}
	for _, file := range files {
		if strings.HasSuffix(file, "_test.go") {
			continue
		}
		f, err := parser.ParseFile(token.NewFileSet(), file, nil, parser.SkipObjectResolution)
		if err != nil {
			t.Fatal(err)
		}
		for _, d := range f.Decls {
			switch d := d.(type) {
			case *ast.FuncDecl:
				name := d.Name.Name
				if d.Recv != nil {
					of := d.Recv.List[0].Type
					if star, ok := of.(*ast.StarExpr); ok {
						of = star.X
					}
					if id, ok := of.(*ast.Ident); ok {
						name = id.Name + "." + name
					}
				}
				out[name] = true
			case *ast.GenDecl:
				for _, s := range d.Specs {
					switch s := s.(type) {
					case *ast.TypeSpec:
						out[s.Name.Name] = true
						if of, ok := s.Type.(*ast.StructType); ok {
							for _, field := range of.Fields.List {
								for _, id := range field.Names {
									out[s.Name.Name+"."+id.Name] = true
								}
							}
						}
					case *ast.ValueSpec:
						for _, id := range s.Names {
							out[id.Name] = true
						}
					}
				}
			}
		}
	}
	return out
}
