# Completion of dutyproof's commands, options and files for bash.
_dutyproof() {
    local word=${COMP_WORDS[COMP_CWORD]} before=${COMP_WORDS[COMP_CWORD - 1]} command=${COMP_WORDS[1]}
    local options
    COMPREPLY=()
    if [ "$COMP_CWORD" -eq 1 ]; then
        mapfile -t COMPREPLY < <(compgen -W 'reduce certify label watch start inspect find verify tables --help --version' -- "$word")
        return
    fi
    case $before in
    --flow)
        mapfile -t COMPREPLY < <(compgen -W 'meter orifice venturi nozzle v-notch' -- "$word")
        return
        ;;
    --phases)
        mapfile -t COMPREPLY < <(compgen -W '1 3' -- "$word")
        return
        ;;
    --units)
        mapfile -t COMPREPLY < <(compgen -W 'metric us indian' -- "$word")
        return
        ;;
    --speed)
        mapfile -t COMPREPLY < <(compgen -W 'measured frequency motor' -- "$word")
        return
        ;;
    --bay | --out)
        mapfile -t COMPREPLY < <(compgen -d -- "$word")
        return
        ;;
    --model | --serial | --points | --jobs | --monte-carlo | --guard | --hours | --what-if) return ;;
    esac
    case $command in
    reduce)
        options='--bay --model --serial --out --no-papers --json --plot --points --monte-carlo --guard --quiet --help'
        ;;
    certify) options='--bay --out --jobs --resume --passes-only --no-papers --json --quiet --help' ;;
    label) options='--bay --model --out --no-papers --json --plot --points --hours --what-if --quiet --help' ;;
    watch) options='--bay --model --out --no-papers --json --quiet --help' ;;
    start) options='--flow --phases --units --speed --help' ;;
    inspect) options='--bay --json --plot --points --help' ;;
    find) options='--bay --json --csv --help' ;;
    verify) options='--bay --log --quiet --help' ;;
    tables) options='--json --help' ;;
    esac
    if [ "${word#-}" != "$word" ]; then
        mapfile -t COMPREPLY < <(compgen -W "$options" -- "$word")
    elif [ "$command" = tables ]; then
        mapfile -t COMPREPLY < <(compgen -W "$(dutyproof tables 2> /dev/null | sed -n 's/^\([a-z]*\) .*/\1/p')" -- "$word")
    else
        mapfile -t COMPREPLY < <(compgen -f -- "$word")
    fi
}
complete -o filenames -F _dutyproof dutyproof
