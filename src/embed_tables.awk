# Writes a C file that holds the text of each CSV table given, for builtin_table() (builtin.h).
function base(path) { sub(/.*\//, "", path); sub(/\.csv$/, "", path); return path }
BEGIN { print "/* made from reference/ by src/embed_tables.awk: do not edit */"; print "#include \"dutyproof/builtin.h\"\n" }
FNR == 1 { if (NR > 1) print "    ;"; names[++n] = base(FILENAME); printf "static const char table_%d[] =\n", n }
{ gsub(/\\/, "\\\\"); gsub(/"/, "\\\""); printf "    \"%s\\n\"\n", $0 }
END {
    if (n > 0) print "    ;\n"
    print "const struct builtin_table builtin_tables[] = {"
    for (i = 1; i <= n; i++) printf "    {\"%s\", table_%d, sizeof table_%d - 1},\n", names[i], i, i
    printf "    {0, 0, 0},\n};\nconst size_t builtin_table_count = %d;\n", n
}
