mod bootstrap;
