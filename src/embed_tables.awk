# Writes a C file that holds the text of each CSV table given, for builtin_find() (builtin.h).
function base(path) { sub(/.*\//, "", path); sub(/\.csv$/, "", path); return path }
BEGIN { print "/* made from reference/ by src/embed_tables.awk: do not edit */"; print "#include \"tables/builtin.h\"\n"
        # A table may be longer than the 4095 characters that C17 promises for a string; gcc and clang take it.
        print "#pragma GCC diagnostic ignored \"-Woverlength-strings\"\n" }
FNR == 1 { if (NR > 1) print "    ;"; names[++n] = base(FILENAME); printf "static const char table_%d[] =\n", n }
{ gsub(/\\/, "\\\\"); gsub(/"/, "\\\""); printf "    \"%s\\n\"\n", $0 }
END {
    if (n > 0) print "    ;\n"
    print "const struct builtin_table builtin_tables[] = {"
    for (i = 1; i <= n; i++) printf "    {\"%s\", table_%d, sizeof table_%d - 1},\n", names[i], i, i
    printf "    {0, 0, 0},\n};\nconst size_t builtin_table_count = %d;\n", n
}
