from cheque.cli import main

main()
